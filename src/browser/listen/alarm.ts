import type { Courier } from './courier.js';
import { type Listening, takeBackMs } from './listening.js';

/** A warning that starts when the "stop" view opens. It can be taken back for a while; after that it is confirmed. */
export class Alarm {
  readonly #listening: Listening;
  readonly #courier: Courier;
  readonly #id: string;
  #canBeTakenBack = true;
  #signs: readonly string[] = [];

  constructor(listening: Listening, courier: Courier) {
    this.#listening = listening;
    this.#courier = courier;
    this.#id = listening.warn([], takeBackMs);
  }

  get canBeTakenBack(): boolean {
    return this.#canBeTakenBack;
  }

  /** All signs that were reported with it. */
  get signs(): readonly string[] {
    return this.#signs;
  }

  /** Confirms the warning and sends it to the clinic at once with the signs that are ticked so far. */
  mean(ticked: readonly string[]): void {
    const isNew = ticked.some((sign) => !this.#signs.includes(sign));
    // The warning that names signs replaces the one that only says that something is wrong.
    if (isNew && this.#canBeTakenBack) this.#listening.takeBack(this.#id);
    this.#canBeTakenBack = false;
    this.#signs = [...new Set([...this.#signs, ...ticked])];
    if (isNew) this.#listening.warn([...this.#signs]);
    this.#courier.confirm();
  }

  /**
   * Takes the warning back.
   *
   * @returns false when it is already confirmed
   */
  takeBack(): boolean {
    const isBack = this.#canBeTakenBack && this.#listening.takeBack(this.#id);
    this.#canBeTakenBack = false;
    return isBack;
  }
}
