import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { openProgress } from '../../src/cli/progress.js';

beforeEach(() => vi.useFakeTimers({ toFake: ['performance'] }));
afterEach(() => {
  vi.restoreAllMocks();
  vi.useRealTimers();
});

it('says in a line every ten seconds how far it is, where no terminal shows a bar', () => {
  const said: string[] = [];
  vi.spyOn(process.stderr, 'write').mockImplementation((text) => {
    said.push(String(text));
    return true;
  });
  const wasTerminal = process.stderr.isTTY;
  process.stderr.isTTY = false;
  try {
    const progress = openProgress('Speaking');
    for (let second = 1; second <= 35; second++) {
      vi.advanceTimersByTime(1000);
      progress.update(second, 100);
    }
    progress.stop();
  } finally {
    process.stderr.isTTY = wasTerminal;
  }
  expect(said).toEqual(['Speaking: 10 of 100\n', 'Speaking: 20 of 100\n', 'Speaking: 30 of 100\n']);
});
