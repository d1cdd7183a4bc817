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
/** A look is only for a reason: what is due, and since when, stands in the database. */
const often = { everyMs: 10 * secondMs, times: '*/10 * * * * *' };
const minutely = { everyMs: minuteMs, times: '30 * * * * *' };
const quarterly = { everyMs: 15 * minuteMs, times: '15 */15 * * * *' };
/** Whoever looks every ten seconds, and twice to be sure, has told of it within a minute. */
const stillAfterMs = 35 * secondMs;
const plannedAtOnce = 200;
/** A patient who could not be planned is tried again then. */
const planAgainMs = 10 * 60_000;
/** Sessions are made in the night before, and at the latest so long before they are due. */
const madeBeforeMs = 14 * 3_600_000;
/** A clock that went back by more was set. */
const clockSlackMs = 2_000;

export type RunnerParts = {
  store: Store;
  channels: ReadonlyMap<ChannelName, Channel>;
  messages: Messages;
  secrets: ReminderSecrets;
  /** The service as its readers reach it, without a slash at the end. */
  address: string;
  /** Whether reminders are planned and sent by this process; always, when left out. Warning signs are in any case. */
  mayPlan?: (db: Db) => Promise<boolean>;
  /** Makes the next sessions of a patient, so that they need not be waited for. It never rejects. */
  makeAhead: (clinicId: string, patientId: string) => Promise<void>;
  /** Settled once it is known which programs cannot be played; no one is reminded before. Warning signs do not wait. */
  ready?: Promise<void>;
  /** Where notes about returned mail are left. */
  dataFolder: string;
  now: () => number;
  random?: () => number;
  /** How long sending waits; as usual when left out. */
  times?: SenderTimes;
  /** Told that something failed; a word about what, and the kind of error. */
  onFailure: (what: string, error: unknown) => void;
  /** Told of what is not tried any longer. */
  onGivenUp?: (delivery: { patientId: string | null; why: string }) => void;
  /** Told of a signed program that was found to be damaged. */
  onDamaged?: (damage: Damage, patientId: string) => void;
  /** Told once that a newer version has upgraded the database, and by which steps. */
  onSuperseded?: (steps: readonly string[]) => void;
};

/** Does what is due: plans, sends, makes ahead. Each may be called at any time, also twice at once and in any order. */
export class Runner {
  readonly #parts: RunnerParts;
  readonly #sender: Sender;
  readonly #warnings: Sender;
  #lastMs: number;
  #startup: Promise<void> | null = null;
  #isStopping = false;
  #isSuperseded = false;
  /** When a newer version was last known to be at work, at the earliest when this one has seen what it did. */
  #newerAtMs: number | null = null;

  constructor(parts: RunnerParts) {
    this.#parts = parts;
    const sender = (maySend: () => Promise<boolean>) =>
      new Sender({ random: Math.random, ...parts, owner: randomUUID(), maySend });
    this.#sender = sender(() => this.#mayRemind());
    this.#warnings = sender(() => this.#isOurs());
    this.#lastMs = Number.POSITIVE_INFINITY;
  }

  /** Whether a newer version works on this database, seen at the last look: this one then plans and sends nothing. */
  get isSuperseded(): boolean {
    return this.#isSuperseded;
  }

  /** Whether that newer version is gone: no one sends anything then. */
  get isAbandoned(): boolean {
    return this.#newerAtMs !== null && !isAtWork(this.#newerAtMs, this.#parts.now());
  }

  /**
   * Plans everyone whose plan has to be looked at.
   *
   * @param beat called as it gets on, here and below
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
        // A database in the process answers at once: the pages have their turn between two patients.
        await setImmediate();
      }
      // What is left is being planned by another process.
      if (planned === 0) return;
    }
  }

  /** Sends what is due, but for warning signs, which have a way of their own and wait behind nothing. */
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

  /** Makes sessions that are due before long, one after the other, the first due first. */
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

  /** Takes in what came back since. */
  async takeReturnedMail(): Promise<number> {
    const { dataFolder, store, now, onFailure } = this.#parts;
    if (!(await this.#isOurs())) return 0;
    const failed = (error: unknown) => onFailure('a returned mail not taken in', error);
    return processReturnedMail(dataFolder, { store: guardStore(store), nowMs: now(), onFailure: failed });
  }

  /** Begins nothing new, and records what is known of what was sent. */
  async stop(): Promise<void> {
    this.#isStopping = true;
    await Promise.all([this.#sender.stop(), this.#warnings.stop()]);
  }

  /**
   * Whether this version still is the one to work on the database: on PostgreSQL a newer one may upgrade it under a
   * service that runs, which must not plan and send beside it by rules that no longer hold.
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

  /** What is wrong with one patient's record must not hold up everyone else. */
  async #planOne(one: { patientId: string; nowMs: number; isShared: boolean }): Promise<boolean> {
    const { store, secrets, onFailure, onDamaged } = this.#parts;
    try {
      return await store.write(async (db) => {
        await refuseSuperseded(db, store.kind);
        if (!(await this.#plans(db))) return false;
        return planPatient(db, one, secrets, onDamaged);
      });
    } catch (error) {
      // Seen by the next look.
      if (isSuperseded(error)) return false;
      onFailure('a patient not planned', error);
      const later = one.nowMs + planAgainMs;
      await guardStore(store)
        .write((db) => postponePlanning(db, one.patientId, later))
        .catch(ignoreSuperseded);
      return true;
    }
  }

  /** Where no other process can be, what one that is gone had held is free at once. */
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

  /** After a start, and when the clock was set back, nothing waits for a time that a wrong clock had made up. */
  async #mindClock(): Promise<void> {
    const { store, now } = this.#parts;
    const nowMs = now();
    if (nowMs < this.#lastMs - clockSlackMs) {
      await store.write((db) => rescheduleAfterClockChange(db, { nowMs, longestWaitMs, longestPlanMs }));
    }
    this.#lastMs = nowMs;
  }
}

/** Work whose standing still is told: what it is called when it fails. */
const watchedWork = ['warnings not sent', 'reminders not planned', 'reminders not sent'] as const;
const [sendingWarnings, planning, sending] = watchedWork;
/** Said of a service that has stopped sending because its database was upgraded by a newer one. */
export const superseded = 'a newer version works on this database; stop this one or upgrade it';
/** All that can stand still. */
export const stillKinds = [...watchedWork, superseded] as const;

/** Does by the clock what a runner can do. */
export type Running = Pick<ByClock, 'standsStill'> & {
  /** Ends it and waits for what is under way. */
  end: () => Promise<void>;
};

/** Lets a runner do its work by the clock, beginning now. */
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
