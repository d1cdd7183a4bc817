import type { PlannedPerson, PlannedSession } from '../../listening/plan.js';
import type { Courier } from './courier.js';
import { canAnswer, canResume, type Place } from './place.js';
import type { PlanKeeper, Refreshed } from './planKeeper.js';
import type { Shelf } from './shelf.js';
import { type Marks, sessionKey, sessionsAt, type TodaysSession } from './today.js';

/**
 * The day as this phone knows it: the plan, plus events on this phone that the service may not know about yet. It
 * dispatches `change` when there is something new to show.
 */
export class Day extends EventTarget {
  readonly #plans: PlanKeeper;
  readonly #shelf: Shelf;
  readonly #courier: Courier;

  constructor(plans: PlanKeeper, shelf: Shelf, courier: Courier) {
    super();
    this.#plans = plans;
    this.#shelf = shelf;
    this.#courier = courier;
  }

  get people(): readonly PlannedPerson[] {
    return this.#plans.plan.people;
  }

  sessionsOf(person: PlannedPerson): TodaysSession[] {
    return sessionsAt(person, this.#plans.now(), this.#marks(person.id));
  }

  mark({ id }: PlannedPerson, session: PlannedSession, state: Marks[string]): void {
    this.#shelf.write(`marks:${id}`, { ...this.#marks(id), [sessionKey(session)]: state });
  }

  /**
   * Returns whether this is the person's first session, by the newest plan. After a session was started here, reported
   * or not, the next one is not the first.
   */
  isFirst({ id }: PlannedPerson): boolean {
    const isFirst = this.people.find((person) => person.id === id)?.isFirst ?? false;
    return isFirst && Object.keys(this.#marks(id)).length === 0;
  }

  /**
   * Returns whether a warning sign is waiting for the clinic's answer; on this phone that is true from the moment it is
   * reported.
   */
  isHeld(person: PlannedPerson): boolean {
    return person.isHeld || this.#shelf.read(`held:${person.id}`) !== null;
  }

  hold(personId: string): void {
    this.#shelf.write(`held:${personId}`, true);
  }

  /** Releases the hold after the warning was taken back. */
  release(personId: string): void {
    this.#shelf.remove(`held:${personId}`);
  }

  /**
   * Returns whether pain or illness kept the person from a session today; nothing starts until someone says that they
   * are better.
   */
  isUnwell({ id, day }: PlannedPerson): boolean {
    return this.#shelf.read<string>(`unwell:${id}`) === day;
  }

  noteUnwell({ id, day }: PlannedPerson): void {
    this.#shelf.write(`unwell:${id}`, day);
  }

  noteBetter({ id }: PlannedPerson): void {
    this.#shelf.remove(`unwell:${id}`);
    this.dispatchEvent(new Event('change'));
  }

  placeOf(personId: string): Place | null {
    return this.#shelf.read<Place>(`place:${personId}`);
  }

  keepPlace(place: Place): void {
    this.#shelf.write(`place:${place.personId}`, place);
  }

  forgetPlace(personId: string): void {
    this.#shelf.remove(`place:${personId}`);
  }

  /** Returns where a session was left on this phone, if it can resume from there. */
  leftOff(personId: string, session: PlannedSession): Place | null {
    const place = this.placeOf(personId);
    return canResume(place, session, Date.now()) ? place : null;
  }

  /** Returns the listening whose questions are still unanswered. */
  unanswered(personId: string): Place | null {
    const place = this.placeOf(personId);
    return canAnswer(place, Date.now()) ? place : null;
  }

  /** Fetches the plan from the service. Once the service has all reports from here, its plan is complete by itself. */
  async refresh(): Promise<Refreshed> {
    await this.#courier.send();
    const known = this.people.filter(({ id }) => !this.#courier.hasUnsent(id));
    const refreshed = await this.#plans.refresh();
    if (refreshed !== 'fresh') return refreshed;
    for (const { id } of known) {
      if (this.#courier.hasUnsent(id)) continue;
      this.#shelf.remove(`marks:${id}`);
      this.#shelf.remove(`held:${id}`);
    }
    this.dispatchEvent(new Event('change'));
    return refreshed;
  }

  #marks(personId: string): Marks {
    return this.#shelf.read<Marks>(`marks:${personId}`) ?? {};
  }
}
