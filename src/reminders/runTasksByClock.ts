import { schedule } from 'node-cron';
import { Pulse } from './pulse.js';

/** Work that is looked for again and again. */
export type Task = {
  /** What it is called when it fails. */
  what: string;
  /** The time between two looks. Timers go by a clock that no one can set. */
  everyMs: number;
  /**
   * A second reason to look, as node-cron has it. node-cron goes by the wall clock and sleeps when that is set back.
   */
  times: string;
  /** Without a sign of life for so long it stands still; null for what is not watched. */
  stillAfterMs: number | null;
  /** @param beat to be called as it gets on, so that much work is not taken for none */
  work: (beat: () => void) => Promise<unknown>;
};

export type Clocks = {
  /** What people take for the time, epoch milliseconds: it can be set. */
  wallMs: () => number;
  /** Goes on evenly from any beginning, whatever is set. */
  steadyMs: () => number;
  /** How often the one is held against the other. */
  compareEveryMs: number;
};

const realClocks: Clocks = {
  wallMs: () => Date.now(),
  steadyMs: () => performance.now(),
  compareEveryMs: 1_000,
};

/** A wall clock that is corrected by less is not one that was set. */
const slackMs = 2_000;

export type ByClock = {
  /** Lets nothing begin any longer. */
  end: () => Promise<void>;
  /** Waits for what is under way. */
  settled: () => Promise<void>;
  /** What has shown no sign of life for too long, by the steady clock. */
  standsStill: () => string[];
};

/**
 * Does tasks by the clock, beginning now, none of them twice at a time: at even distances, at node-cron's times, and
 * as soon as the wall clock has leapt, be it that it was set or that the machine slept.
 *
 * @param onFailure told what failed; the task is looked for again all the same
 */
export function runTasksByClock(
  tasks: readonly Task[],
  onFailure: (what: string, error: unknown) => void,
  clocks: Partial<Clocks> = {},
): ByClock {
  const { wallMs, steadyMs, compareEveryMs } = { ...realClocks, ...clocks };
  const inFlight = new Map<Task, Promise<unknown>>();
  /** The clock leapt while they were under way: what they went by is no longer true. */
  const wantedAgain = new Set<Task>();
  const pulse = new Pulse(steadyMs);
  let hasEnded = false;

  const look = (task: Task): Promise<unknown> => {
    const working = inFlight.get(task);
    if (hasEnded || working !== undefined) return working ?? Promise.resolve();
    const run = doOnce(task).finally(() => {
      inFlight.delete(task);
      if (wantedAgain.delete(task)) look(task);
    });
    inFlight.set(task, run);
    return run;
  };
  const doOnce = async (task: Task): Promise<void> => {
    const beat = () => pulse.beat(task.what);
    try {
      await task.work(beat);
      beat();
    } catch (error) {
      onFailure(task.what, error);
    }
  };
  // Work that is under way is usual when there is much to do; node-cron's own way of saying no to it prints a warning.
  const atTheirTimes = () => tasks.map((task) => schedule(task.times, () => look(task)));

  for (const { what, stillAfterMs } of tasks) if (stillAfterMs !== null) pulse.watch(what, stillAfterMs);
  let scheduled = atTheirTimes();
  const timers = tasks.map((task) => setInterval(() => look(task), task.everyMs));
  let aheadMs = wallMs() - steadyMs();
  const comparing = setInterval(() => {
    const nowAheadMs = wallMs() - steadyMs();
    if (Math.abs(nowAheadMs - aheadMs) > slackMs) {
      for (const each of scheduled) each.destroy();
      scheduled = atTheirTimes();
      for (const task of tasks) {
        if (inFlight.has(task)) wantedAgain.add(task);
        else look(task);
      }
    }
    aheadMs = nowAheadMs;
  }, compareEveryMs);
  const beginning = setImmediate(() => {
    for (const task of tasks) look(task);
  });

  return {
    end: async () => {
      hasEnded = true;
      wantedAgain.clear();
      clearImmediate(beginning);
      clearInterval(comparing);
      for (const timer of timers) clearInterval(timer);
      await Promise.all(scheduled.map((each) => each.destroy()));
    },
    settled: async () => {
      await Promise.all(inFlight.values());
    },
    standsStill: () => (hasEnded ? [] : pulse.still()),
  };
}
