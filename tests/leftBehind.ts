import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** Tells the processes of the tests where {@link temporaryFolder} makes folders. */
const setting = 'STILLCOUNT_TEST_FOLDER';

/** Takes away, after all tests, what files made that cannot tell when nobody needs it any more. */
export default function takeAway(): () => void {
  const folder = mkdtempSync(join(tmpdir(), 'stillcount-left-'));
  process.env[setting] = folder;
  return () => rmSync(folder, { recursive: true, force: true });
}

/** Where something is kept that all tests of a run share; undefined where a test runs without the others. */
export function sharedFolder(name: string): string | undefined {
  const folder = process.env[setting];
  return folder === undefined ? undefined : join(folder, name);
}

/** A folder of its own for as long as the tests run. */
export function temporaryFolder(kind: string): string {
  return mkdtempSync(join(process.env[setting] ?? tmpdir(), `stillcount-${kind}-`));
}
