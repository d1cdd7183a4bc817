import type { Courier } from './courier.js';
import { type Listening, takeBackMs } from './listening.js';

/** A warning from the moment at which "stop" is seen. It can be taken back for a while; then it is meant. */
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

  /** All signs that were told with it. */
  get signs(): readonly string[] {
    return this.#signs;
  }

  /** It is meant, and goes to the clinic at once with the signs that are ticked by now. */
  mean(ticked: readonly string[]): void {
    const isNew = ticked.some((sign) => !this.#signs.includes(sign));
    // The one that names the signs takes the place of the one that only says that something is wrong.
    if (isNew && this.#canBeTakenBack) this.#listening.takeBack(this.#id);
    this.#canBeTakenBack = false;
    this.#signs = [...new Set([...this.#signs, ...ticked])];
    if (isNew) this.#listening.warn([...this.#signs]);
    this.#courier.confirm();
  }

  /** @returns false when it is meant already */
  takeBack(): boolean {
    const isBack = this.#canBeTakenBack && this.#listening.takeBack(this.#id);
    this.#canBeTakenBack = false;
    return isBack;
  }
}
