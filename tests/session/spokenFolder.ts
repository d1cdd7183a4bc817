import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/**
 * A data folder for tests that speak whole sessions, and a function that gives it back. In a run of all tests it is one
 * for all of them, which `npm test` makes and removes: what one has spoken need not be spoken again by the next.
 */
export async function spokenFolder(): Promise<{ folder: string; giveBack: () => Promise<void> }> {
  const shared = process.env.STILLCOUNT_TEST_SPOKEN;
  if (shared !== undefined && shared !== '') return { folder: shared, giveBack: async () => {} };
  const folder = await mkdtemp(join(tmpdir(), 'stillcount-spoken-'));
  return { folder, giveBack: () => rm(folder, { recursive: true, force: true }) };
}
