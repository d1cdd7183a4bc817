import { randomUUID } from 'node:crypto';
import { setImmediate } from 'node:timers/promises';
import type { Channel, ChannelName } from '../channels/channel.js';
import type { Messages } from '../documents/messages.js';
import { bringBack } from '../store/deliveries.js';
import type { Store } from '../store/openStore.js';
import { planLater, takeToMake, toMakeAhead, toPlan } from '../store/reminderWatch.js';
import { byClock } from './byClock.js';
import { planDigests } from './planOthers.js';
import { longestPlanMs, planPatient } from './planPatient.js';
import { longestWaitMs } from './retries.js';
import { takeReturnedMail } from './returnedMail.js';
import type { ReminderSecrets } from './secrets.js';
import { Sender } from './sender.js';

/** A tick is only a reason to look: what is due, and since when, stands in the database. */
const tenSeconds = '*/10 * * * * *';
const minutely = '30 * * * * *';
const quarterly = '15 */15 * * * *';
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
  /** Makes the next sessions of a patient, so that they need not be waited for. It never rejects. */
  makeAhead: (clinicId: string, patientId: string) => Promise<void>;
  /** Settled once it is known which programs cannot be played; nobody is reminded before. Warning signs do not wait. */
  ready?: Promise<void>;
  /** Where notes about returned mail are left. */
  dataFolder: string;
  now: () => number;
  random?: () => number;
  /** Told that something failed; a word about what, and the kind of error. */
  onFailure: (what: string, error: unknown) => void;
};

/** Does what is due: plans, sends, makes ahead. Each may be called at any time, also twice at once and in any order. */
export class Runner {
  readonly #parts: RunnerParts;
  readonly #sender: Sender;
  readonly #warnings: Sender;
  #lastMs: number;
  #isStopping = false;

  constructor(parts: RunnerParts) {
    this.#parts = parts;
    const sender = () => new Sender({ random: Math.random, ...parts, owner: randomUUID() });
    this.#sender = sender();
    this.#warnings = sender();
    this.#lastMs = Number.POSITIVE_INFINITY;
  }

  /** Plans everybody whose plan has to be looked at. */
  async plan(): Promise<void> {
    const { store, now } = this.#parts;
    await this.#mindClock();
    const isShared = store.kind === 'postgres';
    for (;;) {
      const nowMs = now();
      const patientIds = await store.read((db) => toPlan(db, nowMs, plannedAtOnce));
      let planned = 0;
      for (const patientId of patientIds) {
        if (this.#isStopping) return;
        if (await this.#planOne({ patientId, nowMs, isShared })) planned += 1;
        // A database in the process answers at once: the pages have their turn between two patients.
        await setImmediate();
      }
      // What is left is being planned by another process.
      if (planned === 0) return;
    }
  }

  /** Sends what is due, but for warning signs, which have a way of their own and wait behind nothing. */
  async send(): Promise<number> {
    await this.#parts.ready;
    return this.#sender.sendDue(false);
  }

  async sendWarnings(): Promise<number> {
    return this.#warnings.sendDue(true);
  }

  async planDigests(): Promise<void> {
    const { store, secrets, now } = this.#parts;
    await store.write((db) => planDigests(db, now(), secrets));
  }

  /** Makes sessions that are due before long, one after the other, the first due first. */
  async makeAhead(): Promise<number> {
    const { store, now, makeAhead } = this.#parts;
    for (let made = 0; ; made += 1) {
      if (this.#isStopping) return made;
      const next = await store.read((db) => toMakeAhead(db, now() + madeBeforeMs));
      if (next === null) return made;
      const { patientId, clinicId, nextDueAtMs } = next;
      const isOurs = await store.write((db) => takeToMake(db, patientId, nextDueAtMs));
      if (isOurs) await makeAhead(clinicId, patientId);
      await setImmediate();
    }
  }

  /** Takes in what came back since. */
  async takeReturnedMail(): Promise<number> {
    const { dataFolder, store, now } = this.#parts;
    return takeReturnedMail(dataFolder, store, now());
  }

  /** Begins nothing new, and writes down what is known of what was sent. */
  async stop(): Promise<void> {
    this.#isStopping = true;
    await Promise.all([this.#sender.stop(), this.#warnings.stop()]);
  }

  /** What is wrong with one patient's record must not hold up everybody else. */
  async #planOne(one: { patientId: string; nowMs: number; isShared: boolean }): Promise<boolean> {
    const { store, secrets, onFailure } = this.#parts;
    try {
      return await store.write((db) => planPatient(db, one, secrets));
    } catch (error) {
      onFailure('a patient not planned', error);
      await store.write((db) => planLater(db, one.patientId, one.nowMs + planAgainMs));
      return true;
    }
  }

  /** After a start, and when the clock was set back, nothing waits for a time that a wrong clock had made up. */
  async #mindClock(): Promise<void> {
    const { store, now } = this.#parts;
    const nowMs = now();
    if (nowMs < this.#lastMs - clockSlackMs) {
      await store.write((db) => bringBack(db, { nowMs, longestWaitMs, longestPlanMs }));
    }
    this.#lastMs = nowMs;
  }
}

/**
 * Lets a runner do its work by the clock.
 *
 * @returns a function that ends it and waits for what is under way
 */
export function runByClock(runner: Runner, onFailure: RunnerParts['onFailure']): () => Promise<void> {
  const { end, settled } = byClock(
    [
      { times: tenSeconds, what: 'warnings not sent', work: () => runner.sendWarnings() },
      { times: tenSeconds, what: 'reminders not planned', work: () => runner.plan() },
      { times: tenSeconds, what: 'reminders not sent', work: () => runner.send() },
      { times: minutely, what: 'sessions not made ahead', work: () => runner.makeAhead() },
      { times: minutely, what: 'returned mail not taken in', work: () => runner.takeReturnedMail() },
      { times: quarterly, what: 'weeks not planned', work: () => runner.planDigests() },
    ],
    onFailure,
  );
  return async () => {
    await end();
    await runner.stop();
    await settled();
    await runner.stop();
  };
}
