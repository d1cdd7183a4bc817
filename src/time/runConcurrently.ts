/**
 * Processes a list in order, a few items at the same time. After a failure no new item starts, and running ones finish.
 *
 * @param mostAtOnce at least one item is always worked on
 * @param work receives an item and the number of its worker, from 0
 * @throws the first failure, once everything that had started has ended
 */
export async function runConcurrently<Item>(
  items: readonly Item[],
  mostAtOnce: number,
  work: (item: Item, worker: number) => Promise<void>,
): Promise<void> {
  const queue = items.values();
  const failures: unknown[] = [];
  const runWorker = async (worker: number) => {
    for (const item of queue) {
      if (failures.length > 0) return;
      await work(item, worker).catch((error: unknown) => failures.push(error));
    }
  };
  await Promise.all(Array.from({ length: Math.max(1, mostAtOnce) }, (_, worker) => runWorker(worker)));
  if (failures.length > 0) throw failures[0];
}
