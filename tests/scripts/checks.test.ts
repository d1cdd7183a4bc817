import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { runTool } from '../../scripts/test/checks.js';

let said = '';
beforeEach(() => {
  said = '';
  vi.spyOn(console, 'log').mockImplementation((line: string) => {
    said += `${line}\n`;
  });
});
afterEach(() => vi.restoreAllMocks());

const node = (script: string) => ['-e', script];

describe('a tool among the checks', () => {
  it('that finds no fault says so in a line', async () => {
    const tally = await runTool('Style', process.execPath, node('console.log("919 files")'));
    expect(tally).toEqual({ passed: 1, skipped: 0, failures: [] });
    expect(said).toBe('\n== Style: no fault\n');
  });

  it('that finds one has its own words printed at once, and is counted', async () => {
    const script = 'console.log("odd line"); process.exitCode = 3';
    const { passed, failures } = await runTool('Style', process.execPath, node(script));
    expect(said).toContain('\n== Style\nodd line\n✗ Style: ');
    expect([passed, failures.map(({ where }) => where)]).toEqual([0, ['Style']]);
    expect(failures[0]?.message).toContain('ended with 3');
  });

  it('that is not there is a fault', async () => {
    const { failures } = await runTool('Style', './no-such-tool', []);
    expect(failures).toHaveLength(1);
    expect(said).toContain('ENOENT');
  });
});
