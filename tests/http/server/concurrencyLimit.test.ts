import { describe, expect, it } from 'vitest';
import { ConcurrencyLimit } from '../../../src/clinic/listening/concurrencyLimit.js';

/** Work that goes on until it is let go. */
function held(): { work: () => Promise<string>; letGo: () => void } {
  let letGo = () => {};
  const until = new Promise<string>((resolve) => {
    letGo = () => resolve('done');
  });
  return { work: () => until, letGo: () => letGo() };
}

describe('few at once', () => {
  it('refuses one more than may be under way for one, and lets others work', async () => {
    const few = new ConcurrencyLimit(2);
    const [first, second, other] = [held(), held(), held()];
    const running = [few.run('a', first.work), few.run('a', second.work), few.run('b', other.work)];
    await expect(few.run('a', async () => 'third')).rejects.toThrow('voice-busy');
    first.letGo();
    expect(await running[0]).toBe('done');
    expect(await few.run('a', async () => 'third'), 'there is room again').toBe('third');
    second.letGo();
    other.letGo();
    expect(await Promise.all(running)).toEqual(['done', 'done', 'done']);
  });

  it('has room again after work that failed', async () => {
    const few = new ConcurrencyLimit(1);
    for (const round of [1, 2, 3]) {
      const failing = few.run('a', async () => {
        throw new Error(`round ${round}`);
      });
      await expect(failing).rejects.toThrow(`round ${round}`);
    }
  });
});
