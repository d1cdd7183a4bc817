import { schedule } from 'node-cron';
import { Pulse } from './pulse.js';

/** A recurring task. */
export type Task = {
  /** Its name in failures. */
  what: string;
  /** The interval between two runs, measured by a clock that cannot be set. */
  everyMs: number;
  /** A second trigger, as a node-cron expression. node-cron follows the wall clock and sleeps when that is set back. */
  times: string;
  /** Without a heartbeat for this long, it counts as stopped; null if it is not monitored. */
  stillAfterMs: number | null;
  /** @param beat to be called on progress, so that a long run is not taken for a hang */
  work: (beat: () => void) => Promise<unknown>;
};

export type Clocks = {
  /** The wall clock, epoch milliseconds: it can be set. */
  wallMs: () => number;
  /** Runs evenly from an arbitrary start, even when the wall clock is set. */
  steadyMs: () => number;
  /** How often the two are compared. */
  compareEveryMs: number;
};

const realClocks: Clocks = {
  wallMs: () => Date.now(),
  steadyMs: () => performance.now(),
  compareEveryMs: 1_000,
};

/** A smaller correction of the wall clock does not count as setting it. */
const slackMs = 2_000;

export type ByClock = {
  /** Starts nothing more. */
  end: () => Promise<void>;
  /** Waits for work in progress. */
  settled: () => Promise<void>;
  /** The work without a heartbeat for too long, by the steady clock. */
  standsStill: () => string[];
};

/**
 * Runs tasks on schedule, starting now, none of them concurrently with itself: at even intervals, at node-cron's times,
 * and as soon as the wall clock has jumped, because it was set or the machine slept.
 *
 * @param onFailure called with each failure; the task runs again anyway
 */
export function runTasksByClock(
  tasks: readonly Task[],
  onFailure: (what: string, error: unknown) => void,
  clocks: Partial<Clocks> = {},
): ByClock {
  const { wallMs, steadyMs, compareEveryMs } = { ...realClocks, ...clocks };
  const inFlight = new Map<Task, Promise<unknown>>();
  /** The clock jumped while they were running: what they were based on no longer holds. */
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
  // A run still in progress is normal under load; node-cron's own way of skipping prints a warning.
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
