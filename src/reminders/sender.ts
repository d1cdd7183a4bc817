import { setImmediate } from 'node:timers/promises';
import type { Channel, ChannelName, Outcome } from '../channels/channel.js';
import type { Messages } from '../documents/messages.js';
import type { Store } from '../store/engine/openStore.js';
import { addPageTokens } from '../store/listening/listeningLinks.js';
import { type Claimed, claimDeliveries, unansweredWhy } from '../store/reminding/deliveries.js';
import { readSendingFacts } from '../store/reminding/readSendingFacts.js';
import type { SendingContact, SendingFacts } from '../store/reminding/sendingFacts.js';
import { runConcurrently } from '../time/runConcurrently.js';
import { dayMs } from '../time/units.js';
import { Attempt, type AttemptTimes } from './attempt.js';
import type { Choice } from './choice.js';
import { chooseDelivery, isTwiceBetter } from './chooseDelivery.js';
import { composeMessage, findLinkFor } from './compose.js';
import { Moments } from './deliveryContext.js';
import { isRepeat } from './otherKinds.js';
import { Recorder, type Result } from './recorder.js';
import { nextAttemptMs } from './retries.js';
import type { ReminderSecrets } from './secrets.js';
import { Unanswered } from './unanswered.js';

export type SenderParts = {
  store: Store;
  channels: ReadonlyMap<ChannelName, Channel>;
  messages: Messages;
  secrets: ReminderSecrets;
  /** The address of the service for recipients, without a trailing slash. */
  address: string;
  /** Unique to this process. */
  owner: string;
  /** Epoch milliseconds. */
  now: () => number;
  /** From 0 to 1. */
  random: () => number;
  times?: SenderTimes;
  /** Checked before each round: whether this process is still the one to send. */
  maySend: () => Promise<boolean>;
  /** Called for deliveries that are no longer retried. */
  onGivenUp?: (delivery: { patientId: string | null; why: string }) => void;
};

export type SenderTimes = AttemptTimes & {
  /** How often, within a claimed batch, it is checked again whether this process is still the one to send. */
  askAgainMs: number;
  /** How long a stopping service waits for responses. */
  lastAnswersMs: number;
};

/**
 * A process silent for this long is considered dead, and others send what it held: with the check after that, within a
 * minute.
 */
const leaseMs = 45_000;
const usualTimes: SenderTimes = {
  handingMs: 20_000,
  slowAfterMs: 3_000,
  askAgainMs: 1_000,
  lastAnswersMs: 10_000,
};
/** Few enough to be handed over well within a lease. */
const claimedAtOnce = 100;
/** Concurrent messages per channel. */
const mostAtOnce = 10;
const lookBackMs = 8 * dayMs;

/** Sends what is due: claims deliveries, checks whether each is still wanted, hands it over and records the outcome. */
export class Sender {
  readonly #parts: SenderParts;
  readonly #recorder: Recorder;
  readonly #unanswered: Unanswered;
  readonly #times: SenderTimes;
  /** The ids of deliveries that this process is sending: it does not claim them again, whatever the clock says. */
  readonly #inFlight = new Map<string, Promise<void>>();
  readonly #stop = new AbortController();
  readonly #giveUp = new AbortController();
  /** By the clock that cannot be set. */
  #askedMs = Number.NEGATIVE_INFINITY;
  #isOurs: Promise<boolean> = Promise.resolve(true);

  constructor(parts: SenderParts) {
    this.#parts = parts;
    this.#recorder = new Recorder(parts);
    this.#unanswered = new Unanswered({ ...parts, leaseMs });
    this.#times = parts.times ?? usualTimes;
  }

  /**
   * Sends until nothing is due. Slow responses are awaited while others are sent.
   *
   * @param beat called on progress
   * @returns how many deliveries were examined
   * @throws StillcountError if the database fails; what was sent is recorded once it works again
   */
  async sendDue(onlyWarnings: boolean, beat: () => void = () => undefined): Promise<number> {
    let count = 0;
    while (!this.#stop.signal.aborted) {
      await this.#recorder.flush();
      const { store, owner, now, maySend } = this.#parts;
      if (!(await maySend())) break;
      const except = [...this.#inFlight.keys()];
      const claiming = { owner, nowMs: now(), leaseMs, most: claimedAtOnce, onlyWarnings, except };
      const isShared = store.kind === 'postgres';
      const claimed = await store.write((db) => claimDeliveries(db, { ...claiming, isShared }));
      if (claimed.length === 0) break;
      count += claimed.length;
      await this.#sendClaimed(claimed, performance.now() + leaseMs, beat);
      // An in-process database answers immediately: without this, nothing else would get a turn for many batches.
      await setImmediate();
    }
    await this.#recorder.flush();
    return count;
  }

  /**
   * Starts nothing new. What has not been handed over is given up and sent after the next start; what is waiting for
   * its response gets some more seconds, and is then recorded as unknown.
   */
  async stop(): Promise<void> {
    this.#stop.abort();
    const lastAnswers = setTimeout(() => this.#giveUp.abort(), this.#times.lastAnswersMs);
    await Promise.all(this.#inFlight.values());
    clearTimeout(lastAnswers);
    await this.#recorder.flush();
  }

  /** @param leaseUntilMs by the clock that cannot be set */
  async #sendClaimed(claimed: readonly Claimed[], leaseUntilMs: number, beat: () => void): Promise<void> {
    const { store, now } = this.#parts;
    const nowMs = now();
    const facts = await store.read((db) =>
      readSendingFacts(
        db,
        {
          contactIds: ids(claimed, ({ contactId }) => contactId),
          patientIds: ids(claimed, ({ patientId }) => patientId),
          prescriptionIds: ids(claimed, ({ prescriptionId }) => prescriptionId),
        },
        { sinceMs: nowMs - lookBackMs, nowMs },
      ),
    );
    const moments = new Moments(facts, nowMs);
    const queues = new Map<ChannelName, (() => Promise<void>)[]>();
    const wanted: { claimed: Claimed; contact: SendingContact; choice: Choice & { do: 'send' } }[] = [];
    for (const each of claimed) {
      const choice = await chooseDelivery(store, each, { facts, moments, nowMs });
      const contact = facts.contacts.get(each.contactId);
      if (choice.do === 'send' && contact !== undefined) wanted.push({ claimed: each, contact, choice });
      else this.#recorder.record(settledBy(each, choice));
    }
    await this.#openLinks(wanted, facts, nowMs);
    for (const { claimed: each, contact, choice } of wanted) {
      const queue = queues.get(contact.channel) ?? [];
      queue.push(async () => {
        await this.#sendOne(each, { contact, choice, facts, leaseUntilMs });
        beat();
      });
      queues.set(contact.channel, queue);
    }
    // One that fails holds up none of the others.
    const failures: unknown[] = [];
    const sendNext = (sendOne: () => Promise<void>) =>
      sendOne().catch((error: unknown) => {
        failures.push(error);
      });
    await Promise.all([...queues.values()].map((queue) => runConcurrently(queue, mostAtOnce, sendNext)));
    if (failures.length > 0) throw failures[0];
  }

  /** A link in a message opens with its own token, which must be known before the message is sent. */
  async #openLinks(
    wanted: readonly { contact: SendingContact }[],
    { links }: SendingFacts,
    nowMs: number,
  ): Promise<void> {
    const { secrets, store } = this.#parts;
    const tokens = wanted.flatMap(({ contact }) => {
      const linkId = findLinkFor(contact, links);
      return linkId === undefined
        ? []
        : [{ linkId, tokenHash: secrets.pagesHashOf(contact.id, linkId), contactId: contact.id }];
    });
    if (tokens.length > 0) await store.write((db) => addPageTokens(db, tokens, nowMs));
  }

  async #sendOne(
    claimed: Claimed,
    {
      contact,
      choice,
      facts,
      leaseUntilMs,
    }: {
      contact: SendingContact;
      choice: Choice & { do: 'send' };
      facts: SendingFacts;
      leaseUntilMs: number;
    },
  ): Promise<void> {
    const { channels, messages, secrets, address, now } = this.#parts;
    const nowMs = now();
    // By the time it is sent, others may have claimed it, or a newer version may own it: it is released.
    const isOver = performance.now() + this.#times.handingMs > leaseUntilMs;
    if (this.#stop.signal.aborted || isOver || !(await this.#isStillOurs())) {
      return this.#recorder.record(settledBy(claimed, { do: 'wait', untilMs: nowMs }));
    }
    const channel = channels.get(contact.channel);
    if (channel === undefined) {
      // The clinic is notified of it once per warning sign, not at every repetition.
      const isTold = claimed.kind === 'warning' || claimed.kind === 'note';
      const isKnown = isTold && isRepeat(claimed);
      const choice = { do: isKnown ? 'drop' : 'fail', why: 'channel-not-set-up' } as const;
      return this.#recorder.record(settledBy(claimed, choice));
    }
    const attempt = new Attempt({ stop: this.#stop.signal, giveUp: this.#giveUp.signal }, this.#times);
    const hand = async () => {
      const message = composeMessage(claimed, contact, choice, { facts, messages, secrets, address, nowMs });
      const to: unknown = JSON.parse(contact.address);
      return channel.send(to, message, attempt.signal, attempt.handedOver);
    };
    let hasEnded = false;
    const ended = hand()
      .then((outcome) => this.#resultOf(claimed, choice.isLate, outcome))
      .catch(() => settledBy(claimed, { do: 'fail', why: 'record-unreadable' }))
      .then((result) => {
        hasEnded = true;
        attempt.end();
        this.#unanswered.delete(claimed.id);
        this.#recorder.record(result);
        const forget = () => this.#inFlight.delete(claimed.id);
        this.#recorder.flush().then(forget, forget);
      });
    this.#inFlight.set(claimed.id, ended);
    await Promise.race([ended, attempt.slow]);
    if (!hasEnded) await this.#unanswered.add(claimed.id);
  }

  /** A database that does not answer is no reason to stop. */
  #isStillOurs(): Promise<boolean> {
    const nowMs = performance.now();
    if (nowMs - this.#askedMs >= this.#times.askAgainMs) {
      this.#askedMs = nowMs;
      this.#isOurs = this.#parts.maySend().catch(() => true);
    }
    return this.#isOurs;
  }

  #resultOf(claimed: Claimed, isLate: boolean, outcome: Outcome): Result {
    const base = { ...settledBy(claimed, { do: 'fail', why: 'tried-too-long' }), isLate };
    if (outcome.outcome === 'sent') return { ...base, state: 'sent', why: null };
    const why = outcome.outcome === 'unknown' ? unansweredWhy : outcome.why;
    if (outcome.outcome === 'unknown' && !isTwiceBetter(claimed)) return { ...base, why };
    if (outcome.outcome === 'gone')
      return { ...base, why, endsContact: { id: claimed.contactId, why: 'gone' } };
    if (outcome.outcome === 'refused') return { ...base, why };
    const nextAtMs = nextAttemptMs({ ...claimed, nowMs: this.#parts.now() }, this.#parts.random);
    return nextAtMs === null ? { ...base, why } : { ...base, state: 'waiting', why, nextAtMs };
  }
}

function settledBy({ id, patientId }: Claimed, choice: Choice): Result {
  const base = {
    id,
    patientId,
    isLate: false,
    nextAtMs: null,
    isUntried: false,
    endsContact: null,
    why: null,
  };
  switch (choice.do) {
    case 'wait':
      return { ...base, state: 'waiting', nextAtMs: choice.untilMs, isUntried: true };
    case 'drop':
      return { ...base, state: 'dropped', why: choice.why };
    case 'miss':
      return { ...base, state: 'missed', why: choice.why };
    case 'fail':
      return { ...base, state: 'failed', why: choice.why };
    case 'send':
      // Only a contact that no longer exists leads here.
      return { ...base, state: 'dropped', why: 'no-address' };
  }
}

function ids(claimed: readonly Claimed[], idOf: (claimed: Claimed) => string | null): string[] {
  return [...new Set(claimed.flatMap((each) => idOf(each) ?? []))];
}
