import type { PlannedPerson, PlannedSession, PlayedSession } from '../../listening/plan.js';
import type { CheckInAnswers, ListeningStep } from '../../listening/report.js';
import type { Parts } from './parts.js';
import type { Place } from './place.js';
import { checkInItem, stepItem, warningItem } from './reports.js';
import { startTimeout } from './timeout.js';

/** The position is stored once a second, so that little is lost when a battery dies. */
const keepEveryMs = 1_000;
/** How long to wait for a session, which may have to be spoken first. */
const fetchPatienceMs = 45_000;
/** How long a warning can be taken back. WCAG 2.2, 2.2.1, asks for twenty seconds; a minute is our choice. */
export const takeBackMs = 60_000;

/** One person's listening to one session: what is reported about it, and what this phone stores. */
export class Listening {
  readonly person: PlannedPerson;
  readonly session: PlannedSession;
  readonly id: string;
  readonly #parts: Parts;
  #place: Place;
  #keptAtMs = 0;
  #isBegun: boolean;

  constructor(parts: Parts, person: PlannedPerson, place: Place) {
    this.#parts = parts;
    this.person = person;
    this.session = place.session;
    this.id = place.listeningId;
    this.#place = place;
    this.#isBegun = parts.day.placeOf(person.id)?.listeningId === place.listeningId;
  }

  /** Whether any of it was heard. */
  get isBegun(): boolean {
    return this.#isBegun;
  }

  /** Position where it was left, or null when nothing was heard yet. */
  get leftAtMs(): number | null {
    return this.#isBegun ? this.#place.positionMs : null;
  }

  get answers(): CheckInAnswers {
    return this.#place.answers;
  }

  step(step: ListeningStep, positionMs: number): void {
    this.#isBegun = true;
    const stage = step === 'finished' || step === 'stopped' ? 'check-in' : 'listening';
    this.#keep({ stage, positionMs });
    if (step === 'started') this.#parts.day.mark(this.person, this.session, 'begun');
    if (step === 'finished') this.#parts.day.mark(this.person, this.session, 'done');
    this.#parts.courier.tell(stepItem(this.#about(), this.id, { step, positionMs }));
  }

  moved(positionMs: number): void {
    if (Date.now() - this.#keptAtMs >= keepEveryMs) this.#keep({ positionMs });
  }

  /**
   * Reports that something is wrong. The warning is stored at once, so that it survives even if the battery dies now.
   *
   * @param waitsMs how long it can be taken back
   * @returns the warning's id
   */
  warn(signs: string[], waitsMs = 0): string {
    const isKnown = this.#isBegun || this.#place.stage === 'check-in';
    const listeningId = isKnown ? this.id : null;
    const positionMs = this.#isBegun ? this.#place.positionMs : null;
    const item = warningItem(this.#about(), { listeningId, positionMs, signs });
    this.#parts.day.hold(this.person.id);
    this.#parts.courier.tell(item, waitsMs);
    return item.id;
  }

  /**
   * Takes a warning back.
   *
   * @returns false when the clinic may already know about it
   */
  takeBack(warningId: string): boolean {
    const isBack = this.#parts.courier.takeBack(warningId);
    if (isBack) this.#parts.day.release(this.person.id);
    return isBack;
  }

  /** Records that it was stopped before the end. */
  stop(): void {
    if (this.#isBegun && this.#place.stage === 'listening') this.step('stopped', this.#place.positionMs);
  }

  /** Stores an answer on this phone until the others are given. */
  answer(answers: CheckInAnswers): void {
    this.#keep({ answers: { ...this.#place.answers, ...answers }, areTold: false });
  }

  /** Reports the answers so far, once. */
  tellAnswers(): void {
    const { answers, areTold } = this.#place;
    if (areTold || Object.keys(answers).length === 0) return;
    this.#keep({ areTold: true });
    this.#parts.courier.tell(checkInItem(this.#about(), this.id, answers));
  }

  /** Ends it: no more questions about it are asked. */
  close(): void {
    this.tellAnswers();
    this.#parts.day.forgetPlace(this.person.id);
  }

  #about() {
    return { personId: this.person.id, session: this.session };
  }

  #keep(change: Partial<Place>): void {
    this.#keptAtMs = Date.now();
    this.#place = { ...this.#place, ...change, leftAtMs: Date.now() };
    this.#parts.day.keepPlace(this.#place);
  }
}

/**
 * Fetches what a player needs in addition to the sound. `gone`: the session is no longer prescribed. `away`: it cannot
 * be fetched now.
 */
export async function fetchPlayedSession({
  session,
}: PlannedSession): Promise<PlayedSession | 'gone' | 'away'> {
  const { signal, end } = startTimeout(fetchPatienceMs);
  try {
    const response = await fetch(session, { signal });
    if (response.ok) return await response.json();
    return response.status === 410 ? 'gone' : 'away';
  } catch {
    return 'away';
  } finally {
    end();
  }
}
