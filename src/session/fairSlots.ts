import { AsyncResource } from 'node:async_hooks';
export type SlotLimits = {
  /** How many pieces of work run at the same time. */
  atOnce: number;
  /** Work that takes longer than this gives up its slot to the next piece and continues beside it. */
  slowMs: number;
  /** How many such slow pieces may run at once. */
  mostSlow: number;
  /** How many pieces one caller may have waiting in a lane, in addition to the one that is running. */
  mostWaiting: number;
  /** Makes the error for a caller that asks for more. */
  tooMuch: () => Error;
  /** Returns whether a failure would also hit everything else that waits in the same lane. */
  endsLane: (error: unknown) => boolean;
  /** Called after each piece of work, whether it succeeded or failed. */
  onDone?: () => void;
  onFailed?: (error: unknown) => void;
};

type Job = { start: () => Promise<unknown>; refuse: (error: unknown) => void };
/** Waiting work by caller; the caller whose turn is next comes first. */
type Lane = { waiting: Map<string, Job[]>; isBusy: boolean };

/** Whose work it is: callers of the same lane take turns. */
export type Turn = { lane: string; who: string };

/**
 * Runs heavy work fairly, a few pieces at a time. Work waits in lanes, each lane runs at most one piece, and the lanes
 * take turns; within a lane, its callers take turns. Work that hangs in one lane, or a caller that asks for a lot,
 * therefore delays the others only briefly.
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
   * Runs the work when it is its turn.
   *
   * @throws anything that the work throws; the error of other work in the lane, when it applies to all of it; `tooMuch`
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
      // Another caller's finished work may start this job, but the async context stays that of the caller who asked for
      // it.
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

  /** Settles when all work that is running or waiting now is done. */
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
    // The lane that has just had its turn goes to the end.
    this.#lanes.delete(name);
    if (lane.waiting.size > 0) this.#lanes.set(name, lane);
    this.#startNext();
  }
}

/**
 * Takes the first job of the caller whose turn it is, and moves that caller to the end; undefined when nothing waits.
 */
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
