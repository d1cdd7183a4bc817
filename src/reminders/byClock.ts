import { schedule } from 'node-cron';

/** Work that is looked for again and again: when, as node-cron has it, what it is called when it fails, and the work. */
export type Task = { times: string; what: string; work: () => Promise<unknown> };

/**
 * Does tasks by the clock, none of them twice at a time.
 *
 * @param onFailure told what failed; the task is looked for again all the same
 * @returns `end` lets nothing begin any more, `settled` waits for what is under way
 */
export function byClock(
  tasks: readonly Task[],
  onFailure: (what: string, error: unknown) => void,
): { end: () => Promise<void>; settled: () => Promise<void> } {
  const underWay = new Map<Task, Promise<unknown>>();
  const scheduled = tasks.map((task) =>
    schedule(task.times, async () => {
      // Usual when there is much to do; node-cron's own way of saying no to it prints a warning each time.
      if (underWay.has(task)) return;
      const working = task.work().catch((error: unknown) => onFailure(task.what, error));
      underWay.set(task, working);
      await working;
      underWay.delete(task);
    }),
  );
  return {
    end: async () => {
      await Promise.all(scheduled.map((task) => task.destroy()));
    },
    settled: async () => {
      await Promise.all(underWay.values());
    },
  };
}
