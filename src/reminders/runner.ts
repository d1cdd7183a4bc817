import { randomUUID } from 'node:crypto';
import { setImmediate } from 'node:timers/promises';
import type { Channel, ChannelName } from '../channels/channel.js';
import type { Messages } from '../documents/messages.js';
import {
  claimPreparation,
  findNextToPrepare,
  listPatientsToPlan,
  postponePlanning,
} from '../store/attention/reminderWatch.js';
import type { Damage } from '../store/attention/signed.js';
import type { Db, Store } from '../store/engine/openStore.js';
import { guardStore, ignoreSuperseded, isSuperseded, refuseSuperseded } from '../store/engine/superseded.js';
import { listNewerSteps } from '../store/engine/upToDate.js';
import { releaseLeases, rescheduleAfterClockChange } from '../store/reminding/heldDeliveries.js';
import { isAtWork, readAtWork } from '../store/service/atWork.js';
import { minuteMs } from '../time/units.js';
import { planDigests } from './planOthers.js';
import { longestPlanMs, planPatient } from './planPatient.js';
import { longestWaitMs } from './retries.js';
import { processReturnedMail } from './returnedMail.js';
import { type ByClock, type Clocks, runTasksByClock, type Task } from './runTasksByClock.js';
import type { ReminderSecrets } from './secrets.js';
import { Sender, type SenderTimes } from './sender.js';

const secondMs = 1_000;
/** A tick is only a trigger: what is due, and since when, is in the database. */
const often = { everyMs: 10 * secondMs, times: '*/10 * * * * *' };
const minutely = { everyMs: minuteMs, times: '30 * * * * *' };
const quarterly = { everyMs: 15 * minuteMs, times: '15 */15 * * * *' };
/** Checking every ten seconds, and twice to be sure, reports a stop within a minute. */
const stillAfterMs = 35 * secondMs;
const plannedAtOnce = 200;
/** When a patient who could not be planned is tried again. */
const planAgainMs = 10 * 60_000;
/** Sessions are rendered during the night before, and at the latest this long before they are due. */
const madeBeforeMs = 14 * 3_600_000;
/** A clock that went back by more than this was set. */
const clockSlackMs = 2_000;

export type RunnerParts = {
  store: Store;
  channels: ReadonlyMap<ChannelName, Channel>;
  messages: Messages;
  secrets: ReminderSecrets;
  /** The address of the service for recipients, without a trailing slash. */
  address: string;
  /** Whether this process plans and sends reminders; by default, always. Warning signs are sent in any case. */
  mayPlan?: (db: Db) => Promise<boolean>;
  /** Renders a patient's next sessions ahead of time. It never rejects. */
  makeAhead: (clinicId: string, patientId: string) => Promise<void>;
  /**
   * Settles once it is known which programs cannot be played; no reminder is sent before. Warning signs do not wait.
   */
  ready?: Promise<void>;
  /** Where bounces are left. */
  dataFolder: string;
  now: () => number;
  random?: () => number;
  /** The timeouts of sending; defaults if omitted. */
  times?: SenderTimes;
  /** Called on a failure with a word about the work, and the error. */
  onFailure: (what: string, error: unknown) => void;
  /** Called for deliveries that are no longer retried. */
  onGivenUp?: (delivery: { patientId: string | null; why: string }) => void;
  /** Called for a signed program that was found to be damaged. */
  onDamaged?: (damage: Damage, patientId: string) => void;
  /** Called once if a newer version has upgraded the database, with its migrations. */
  onSuperseded?: (steps: readonly string[]) => void;
};

/**
 * Does what is due: plans, sends, renders ahead. Each can be called at any time, even concurrently and in any order.
 */
export class Runner {
  readonly #parts: RunnerParts;
  readonly #sender: Sender;
  readonly #warnings: Sender;
  #lastMs: number;
  #startup: Promise<void> | null = null;
  #isStopping = false;
  #isSuperseded = false;
  /** When a newer version was last known to be working, or when this one first saw its changes. */
  #newerAtMs: number | null = null;

  constructor(parts: RunnerParts) {
    this.#parts = parts;
    const sender = (maySend: () => Promise<boolean>) =>
      new Sender({ random: Math.random, ...parts, owner: randomUUID(), maySend });
    this.#sender = sender(() => this.#mayRemind());
    this.#warnings = sender(() => this.#isOurs());
    this.#lastMs = Number.POSITIVE_INFINITY;
  }

  /** Whether a newer version works on this database, as of the last check: this one then plans and sends nothing. */
  get isSuperseded(): boolean {
    return this.#isSuperseded;
  }

  /** Whether that newer version is gone: no one sends anything then. */
  get isAbandoned(): boolean {
    return this.#newerAtMs !== null && !isAtWork(this.#newerAtMs, this.#parts.now());
  }

  /**
   * Plans all patients whose plan is due.
   *
   * @param beat called on progress, here and below
   */
  async plan(beat: () => void = () => undefined): Promise<void> {
    const { store, now } = this.#parts;
    if (!(await this.#mayRemind())) return;
    await this.#begin();
    await this.#mindClock();
    const isShared = store.kind === 'postgres';
    while (await this.#mayRemind()) {
      const nowMs = now();
      const patientIds = await store.read((db) => listPatientsToPlan(db, nowMs, plannedAtOnce));
      let planned = 0;
      for (const patientId of patientIds) {
        if (this.#isStopping) return;
        if (await this.#planOne({ patientId, nowMs, isShared })) planned += 1;
        beat();
        // An in-process database answers immediately, so page requests get their turn between two patients.
        await setImmediate();
      }
      // The rest is being planned by another process.
      if (planned === 0) return;
    }
  }

  /** Sends what is due except warning signs, which are sent separately and wait for nothing else. */
  async send(beat?: () => void): Promise<number> {
    await this.#parts.ready;
    if (!(await this.#mayRemind())) return 0;
    await this.#begin();
    return this.#sender.sendDue(false, beat);
  }

  async sendWarnings(beat?: () => void): Promise<number> {
    if (!(await this.#isOurs())) return 0;
    await this.#begin();
    return this.#warnings.sendDue(true, beat);
  }

  async planDigests(): Promise<void> {
    const { store, secrets, now } = this.#parts;
    if (!(await this.#mayRemind())) return;
    await guardStore(store).write((db) => planDigests(db, now(), secrets));
  }

  /** Renders sessions that are due soon, one after the other, earliest first. */
  async makeAhead(): Promise<number> {
    const { store, now, makeAhead } = this.#parts;
    for (let made = 0; ; made += 1) {
      if (this.#isStopping || !(await this.#isOurs())) return made;
      const next = await store.read((db) => findNextToPrepare(db, now() + madeBeforeMs));
      if (next === null) return made;
      const { patientId, clinicId, nextDueAtMs } = next;
      const isOurs = await store.write((db) => claimPreparation(db, patientId, nextDueAtMs));
      if (isOurs) await makeAhead(clinicId, patientId);
      await setImmediate();
    }
  }

  /** Takes in new bounces. */
  async takeReturnedMail(): Promise<number> {
    const { dataFolder, store, now, onFailure } = this.#parts;
    if (!(await this.#isOurs())) return 0;
    const failed = (error: unknown) => onFailure('a returned mail not taken in', error);
    return processReturnedMail(dataFolder, { store: guardStore(store), nowMs: now(), onFailure: failed });
  }

  /** Starts nothing new, and records what is known of what was sent. */
  async stop(): Promise<void> {
    this.#isStopping = true;
    await Promise.all([this.#sender.stop(), this.#warnings.stop()]);
  }

  /**
   * Whether this version is still the one to work on the database: on PostgreSQL a newer one may upgrade it while this
   * service runs, and this one must then not plan and send by outdated rules.
   */
  async #isOurs(): Promise<boolean> {
    const { store, onSuperseded, now } = this.#parts;
    const steps = await store.read((db) => listNewerSteps(db, store.kind));
    if (steps.length === 0) this.#newerAtMs = null;
    else {
      const saidAtMs = await store.read(readAtWork);
      if (this.#newerAtMs === null || (saidAtMs !== null && isAtWork(saidAtMs, now())))
        this.#newerAtMs = now();
    }
    const wasSuperseded = this.#isSuperseded;
    this.#isSuperseded = steps.length > 0;
    if (this.#isSuperseded && !wasSuperseded) onSuperseded?.(steps);
    return !this.#isSuperseded;
  }

  async #mayRemind(): Promise<boolean> {
    return (await this.#isOurs()) && (await this.#parts.store.read((db) => this.#plans(db)));
  }

  #plans(db: Db): Promise<boolean> {
    return this.#parts.mayPlan?.(db) ?? Promise.resolve(true);
  }

  /** A problem in one patient's record must not hold up everyone else. */
  async #planOne(one: { patientId: string; nowMs: number; isShared: boolean }): Promise<boolean> {
    const { store, secrets, onFailure, onDamaged } = this.#parts;
    try {
      return await store.write(async (db) => {
        await refuseSuperseded(db, store.kind);
        if (!(await this.#plans(db))) return false;
        return planPatient(db, one, secrets, onDamaged);
      });
    } catch (error) {
      // Seen by the next check.
      if (isSuperseded(error)) return false;
      onFailure('a patient not planned', error);
      const later = one.nowMs + planAgainMs;
      await guardStore(store)
        .write((db) => postponePlanning(db, one.patientId, later))
        .catch(ignoreSuperseded);
      return true;
    }
  }

  /** Where there can be no other process, what a dead one held is released immediately. */
  #begin(): Promise<void> {
    const { store, now } = this.#parts;
    if (store.kind === 'postgres') return Promise.resolve();
    this.#startup ??= store
      .write((db) => releaseLeases(db, now()))
      .then(
        () => undefined,
        (error: unknown) => {
          this.#startup = null;
          throw error;
        },
      );
    return this.#startup;
  }

  /** After startup, and after the clock was set back, nothing waits for a time that a wrong clock produced. */
  async #mindClock(): Promise<void> {
    const { store, now } = this.#parts;
    const nowMs = now();
    if (nowMs < this.#lastMs - clockSlackMs) {
      await store.write((db) => rescheduleAfterClockChange(db, { nowMs, longestWaitMs, longestPlanMs }));
    }
    this.#lastMs = nowMs;
  }
}

/** Work that is reported when it stops: its name in failures. */
const watchedWork = ['warnings not sent', 'reminders not planned', 'reminders not sent'] as const;
const [sendingWarnings, planning, sending] = watchedWork;
/** Reported for a service that has stopped sending because a newer one upgraded its database. */
export const superseded = 'a newer version works on this database; stop this one or upgrade it';
/** Everything that can stop. */
export const stillKinds = [...watchedWork, superseded] as const;

/** Runs a runner's tasks on schedule. */
export type Running = Pick<ByClock, 'standsStill'> & {
  /** Stops it and waits for work in progress. */
  end: () => Promise<void>;
};

/** Starts running a runner's tasks on schedule, starting now. */
export function startRunner(
  runner: Runner,
  onFailure: RunnerParts['onFailure'],
  { clocks = {}, oftenMs = often.everyMs }: { clocks?: Partial<Clocks>; oftenMs?: number } = {},
): Running {
  const watched = { ...often, everyMs: oftenMs, stillAfterMs };
  const tasks: readonly Task[] = [
    { ...watched, what: sendingWarnings, work: (beat) => runner.sendWarnings(beat) },
    { ...watched, what: planning, work: (beat) => runner.plan(beat) },
    { ...watched, what: sending, work: (beat) => runner.send(beat) },
    { ...minutely, stillAfterMs: null, what: 'sessions not made ahead', work: () => runner.makeAhead() },
    {
      ...minutely,
      stillAfterMs: null,
      what: 'returned mail not taken in',
      work: () => runner.takeReturnedMail(),
    },
    { ...quarterly, stillAfterMs: null, what: 'weeks not planned', work: () => runner.planDigests() },
  ];
  const { end, settled, standsStill } = runTasksByClock(tasks, onFailure, clocks);
  return {
    standsStill,
    end: async () => {
      await end();
      await runner.stop();
      await settled();
      await runner.stop();
    },
  };
}
