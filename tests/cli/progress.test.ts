import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { openProgress, showActivity } from '../../src/cli/progress.js';
import { setVerbosity } from '../../src/cli/verbosity.js';

beforeEach(() => vi.useFakeTimers({ toFake: ['performance', 'setInterval', 'clearInterval'] }));
afterEach(() => {
  setVerbosity({});
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

/** What work of 35 s says of itself that is told of once, after 12 s. */
async function saidOfWork(isTerminal: boolean): Promise<string[]> {
  const said: string[] = [];
  vi.spyOn(process.stderr, 'write').mockImplementation((text) => {
    said.push(String(text));
    return true;
  });
  const wasTerminal = process.stderr.isTTY;
  process.stderr.isTTY = isTerminal;
  try {
    let doing = 'Starting';
    const result = await showActivity(
      () => doing,
      async (changed) => {
        vi.advanceTimersByTime(12_000);
        doing = 'Upgrading';
        changed();
        vi.advanceTimersByTime(23_000);
        return 'done';
      },
    );
    expect(result).toBe('done');
    vi.advanceTimersByTime(60_000);
  } finally {
    process.stderr.isTTY = wasTerminal;
  }
  return said;
}

it('says every ten seconds what is under way, and at once what it has come to', async () => {
  expect(await saidOfWork(false)).toEqual([
    'Starting: running for 10 s\n',
    'Upgrading: running for 12 s\n',
    'Upgrading: running for 20 s\n',
    'Upgrading: running for 30 s\n',
  ]);
});

it('counts the seconds in one line of a terminal, which is gone at the end', async () => {
  const said = await saidOfWork(true);
  expect(said).toHaveLength(12 + 1 + 23 + 1);
  expect(said.at(-2)).toBe('\rUpgrading ... 35 s\u001b[K');
  expect(said.at(-1)).toBe('\r\u001b[K');
});

it('says nothing to whoever asked for results alone', async () => {
  setVerbosity({ quiet: true });
  expect([...(await saidOfWork(false)), ...(await saidOfWork(true))]).toEqual([]);
});
