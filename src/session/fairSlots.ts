import { AsyncResource } from 'node:async_hooks';
export type SlotLimits = {
  /** How much is done at the same time. */
  atOnce: number;
  /** What takes longer than this makes room for the next, and goes on beside it. */
  slowMs: number;
  /** For how much that takes longer there is room. */
  mostSlow: number;
  /** How much one who asks may have waiting in a lane, beside what is under way. */
  mostWaiting: number;
  /** What one who asks for more is told. */
  tooMuch: () => Error;
  /** Whether what has failed so would fail for everything that waits in the same lane too. */
  endsLane: (error: unknown) => boolean;
  /** Told after work that was done, or has failed. */
  onDone?: () => void;
  onFailed?: (error: unknown) => void;
};

type Job = { start: () => Promise<unknown>; refuse: (error: unknown) => void };
/** What waits, by who asked for it; whose turn it is next stands first. */
type Lane = { waiting: Map<string, Job[]>; isBusy: boolean };

/** Whose work it is: who asks takes turns with the others of the same lane. */
export type Turn = { lane: string; who: string };

/**
 * Does heavy work a few pieces at a time, and fairly: work stands in lanes, each lane has one piece under way at most,
 * and the lanes take turns; so do those who ask, within their lane. What hangs in one lane, or whoever asks for much,
 * thus delays the others for a moment only.
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
   * @throws whatever the work throws; what other work of the lane threw, when it holds for all of it; `tooMuch`
   */
  run<Result>({ lane: name, who }: Turn, work: () => Promise<Result>): Promise<Result> {
    const lane = this.#lanes.get(name) ?? { waiting: new Map<string, Job[]>(), isBusy: false };
    const own = lane.waiting.get(who) ?? [];
    if (own.length >= this.#limits.mostWaiting) return Promise.reject(this.#limits.tooMuch());
    this.#lanes.set(name, lane);
    lane.waiting.set(who, own);
    const done = new Promise<Result>((resolve, reject) => {
      const start = async () => {
        try {
          resolve(await work());
          this.#limits.onDone?.();
        } catch (error) {
          reject(error);
          this.#limits.onFailed?.(error);
          if (this.#limits.endsLane(error)) refuseAll(lane, error);
        }
      };
      // Begun by whoever makes room for it, it still belongs to whoever asked.
      own.push({ start: AsyncResource.bind(start), refuse: reject });
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
      const next = [...this.#lanes].find(([, { waiting, isBusy }]) => !isBusy && waiting.size > 0);
      if (next === undefined) return;
      void this.#start(...next);
    }
  }

  async #start(name: string, lane: Lane): Promise<void> {
    const job = takeNext(lane);
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
    if (lane.waiting.size > 0) this.#lanes.set(name, lane);
    this.#startNext();
  }
}

/** The first of whose turn it is, who then stands last; undefined when nothing waits. */
function takeNext({ waiting }: Lane): Job | undefined {
  for (const [who, jobs] of waiting) {
    const job = jobs.shift();
    waiting.delete(who);
    if (jobs.length > 0) waiting.set(who, jobs);
    return job;
  }
  return undefined;
}

function refuseAll({ waiting }: Lane, error: unknown): void {
  const jobs = [...waiting.values()].flat();
  waiting.clear();
  for (const { refuse } of jobs) refuse(error);
}
