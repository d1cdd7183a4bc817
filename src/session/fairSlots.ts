export type SlotLimits = {
  /** How much is done at the same time. */
  atOnce: number;
  /** What takes longer than this makes room for the next, and goes on beside it. */
  slowMs: number;
  /** For how much that takes longer there is room. */
  mostSlow: number;
  /** Whether what has failed so would fail for everything that waits in the same lane too. */
  endsLane: (error: unknown) => boolean;
  /** Told after work that was done, or has failed. */
  onDone?: () => void;
  onFailed?: (error: unknown) => void;
};

type Job = { start: () => Promise<unknown>; refuse: (error: unknown) => void };
type Lane = { waiting: Job[]; isBusy: boolean };

/**
 * Does heavy work a few pieces at a time, and fairly: work stands in lanes, each lane has one piece under way at most,
 * and the lanes take turns. What hangs in one lane thus delays the others for a moment only.
 */
export class FairSlots {
  readonly #limits: SlotLimits;
  readonly #lanes = new Map<string, Lane>();
  readonly #present = new Set<Promise<unknown>>();
  #counted = 0;
  #slow = 0;

  constructor(limits: SlotLimits) {
    this.#limits = limits;
  }

  /**
   * Does the work when it is its turn.
   *
   * @param name of the lane, such as whose work it is
   * @throws whatever the work throws; also what other work of the lane threw, when it holds for all of it
   */
  run<Result>(name: string, work: () => Promise<Result>): Promise<Result> {
    const done = new Promise<Result>((resolve, reject) => {
      const lane = this.#lanes.get(name) ?? { waiting: [], isBusy: false };
      this.#lanes.set(name, lane);
      const start = async () => {
        try {
          resolve(await work());
          this.#limits.onDone?.();
        } catch (error) {
          reject(error);
          this.#limits.onFailed?.(error);
          if (this.#limits.endsLane(error)) for (const { refuse } of lane.waiting.splice(0)) refuse(error);
        }
      };
      lane.waiting.push({ start, refuse: reject });
    });
    const present: Promise<unknown> = done
      .catch(() => undefined)
      .finally(() => {
        this.#present.delete(present);
      });
    this.#present.add(present);
    this.#startNext();
    return done;
  }

  /** Settles when everything that is there now, under way or waiting, is done. */
  async settled(): Promise<void> {
    await Promise.all(this.#present);
  }

  #startNext(): void {
    while (this.#counted < this.#limits.atOnce) {
      const next = [...this.#lanes].find(([, { waiting, isBusy }]) => !isBusy && waiting.length > 0);
      if (next === undefined) return;
      void this.#start(...next);
    }
  }

  async #start(name: string, lane: Lane): Promise<void> {
    const job = lane.waiting.shift();
    if (job === undefined) return;
    lane.isBusy = true;
    this.#counted += 1;
    let isSlow = false;
    const timer = setTimeout(() => {
      if (this.#slow >= this.#limits.mostSlow) return;
      isSlow = true;
      this.#slow += 1;
      this.#counted -= 1;
      this.#startNext();
    }, this.#limits.slowMs);
    timer.unref();
    await job.start();
    clearTimeout(timer);
    if (isSlow) this.#slow -= 1;
    else this.#counted -= 1;
    lane.isBusy = false;
    // The lane that had its turn last stands last.
    this.#lanes.delete(name);
    if (lane.waiting.length > 0) this.#lanes.set(name, lane);
    this.#startNext();
  }
}
