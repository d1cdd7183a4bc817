import type { PlannedPerson, PlannedSession, PlayedSession } from '../../listening/plan.js';
import type { CheckInAnswers, ListeningStep } from '../../listening/report.js';
import type { Parts } from './parts.js';
import type { Place } from './place.js';
import { checkInItem, stepItem, warningItem } from './reports.js';
import { startTimeout } from './timeout.js';

/** Written down once a second, so that little is lost with a battery. */
const keepEveryMs = 1_000;
/** A session may have to be spoken first. */
const fetchPatienceMs = 45_000;
/** How long a warning can be taken back. WCAG 2.2, 2.2.1, asks for twenty seconds; a minute is our choice. */
export const takeBackMs = 60_000;

/** One person's listening to one session: what is told of it, and what this phone keeps of it. */
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

  /** Whether something of it was heard. */
  get isBegun(): boolean {
    return this.#isBegun;
  }

  /** Where it was left, or null when nothing was heard yet. */
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
   * Something is wrong. It is recorded at once, so that even a battery that dies now loses nothing.
   *
   * @param waitsMs how long it can be taken back
   * @returns its id
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

  /** @returns false when the clinic may know of it already */
  takeBack(warningId: string): boolean {
    const isBack = this.#parts.courier.takeBack(warningId);
    if (isBack) this.#parts.day.release(this.person.id);
    return isBack;
  }

  /** It was ended on the way. */
  stop(): void {
    if (this.#isBegun && this.#place.stage === 'listening') this.step('stopped', this.#place.positionMs);
  }

  /** Keeps an answer on this phone while the others are still being given. */
  answer(answers: CheckInAnswers): void {
    this.#keep({ answers: { ...this.#place.answers, ...answers }, areTold: false });
  }

  /** Tells what was answered so far, once. */
  tellAnswers(): void {
    const { answers, areTold } = this.#place;
    if (areTold || Object.keys(answers).length === 0) return;
    this.#keep({ areTold: true });
    this.#parts.courier.tell(checkInItem(this.#about(), this.id, answers));
  }

  /** Nothing more is asked about it. */
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

/** What a player needs beside the sound. `gone`: it is no longer prescribed. `away`: it cannot be had now. */
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
