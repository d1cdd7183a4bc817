import { vi } from 'vitest';
import { runCommand } from '../../src/cli/runCommand.js';
import type { Run } from './runStillcount.js';

/**
 * Runs one command line to its end in the process of the tests: what {@link runStillcount} does, without the time that a
 * process takes to start, and without standard input. What the command does to its process is put back.
 */
export async function runHere(
  args: readonly string[],
  environment: Readonly<Record<string, string>> = {},
): Promise<Run> {
  const said = { stdout: '', stderr: '' };
  const umask = process.umask();
  const spies = (['stdout', 'stderr'] as const).map((name) =>
    vi.spyOn(process[name], 'write').mockImplementation((chunk) => {
      said[name] += String(chunk);
      return true;
    }),
  );
  for (const [name, value] of Object.entries(environment)) vi.stubEnv(name, value);
  try {
    return { code: await runCommand(args), ...said };
  } finally {
    vi.unstubAllEnvs();
    for (const spy of spies) spy.mockRestore();
    process.umask(umask);
  }
}
