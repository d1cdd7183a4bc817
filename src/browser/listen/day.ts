import type { PlannedPerson, PlannedSession } from '../../listening/plan.js';
import type { Courier } from './courier.js';
import { canAnswer, canResume, type Place } from './place.js';
import type { PlanKeeper, Refreshed } from './planKeeper.js';
import type { Shelf } from './shelf.js';
import { type Marks, sessionKey, sessionsAt, type TodaysSession } from './today.js';

/**
 * The day as this phone knows it: the plan, and on top of it what happened here that the service may not know yet.
 * It says `change` when there is something new to show.
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

  /** By the newest plan; a session begun here, told or not, makes the next one no first one. */
  isFirst({ id }: PlannedPerson): boolean {
    const isFirst = this.people.find((person) => person.id === id)?.isFirst ?? false;
    return isFirst && Object.keys(this.#marks(id)).length === 0;
  }

  /** A warning sign that the clinic has not answered; on this phone from the moment it was told. */
  isHeld(person: PlannedPerson): boolean {
    return person.isHeld || this.#shelf.read(`held:${person.id}`) !== null;
  }

  hold(personId: string): void {
    this.#shelf.write(`held:${personId}`, true);
  }

  /** The warning was taken back. */
  release(personId: string): void {
    this.#shelf.remove(`held:${personId}`);
  }

  /** Pain or illness kept them from a session today: nothing begins until someone says that it is better. */
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

  /** Where a session was left on this phone, when it goes on from there. */
  leftOff(personId: string, session: PlannedSession): Place | null {
    const place = this.placeOf(personId);
    return canResume(place, session, Date.now()) ? place : null;
  }

  /** A listening whose questions wait for answers. */
  unanswered(personId: string): Place | null {
    const place = this.placeOf(personId);
    return canAnswer(place, Date.now()) ? place : null;
  }

  /** Asks the service. Once it knows all that happened here, its plan says everything. */
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
