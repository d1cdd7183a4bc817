import { existsSync, readdirSync } from 'node:fs';
import { rename, writeFile } from 'node:fs/promises';
import { join } from 'node:path';

/** Of Debian's package `faketime`, where it lies for any processor; null where there is none. */
function findLibrary(): string | null {
  const folders = existsSync('/usr/lib') ? readdirSync('/usr/lib') : [];
  const found = folders.map((folder) => join('/usr/lib', folder, 'faketime', 'libfaketimeMT.so.1'));
  return found.find((file) => existsSync(file)) ?? null;
}

const library = findLibrary();
export const hasFakeTime = library !== null;

/**
 * A wall clock for another process that is set while that one runs: libfaketime answers in the place of the system for
 * CLOCK_REALTIME alone. CLOCK_MONOTONIC and every timer stay the real ones, as they do when somebody sets the clock of
 * a machine.
 */
export class FakeTime {
  readonly #file: string;
  #aheadMs = 0;

  /** @param folder an existing one, for its file */
  constructor(folder: string) {
    this.#file = join(folder, 'set-clock');
  }

  /** What the process has to be started with. */
  get environment(): NodeJS.ProcessEnv {
    return {
      LD_PRELOAD: library ?? '',
      FAKETIME_TIMESTAMP_FILE: this.#file,
      FAKETIME_NO_CACHE: '1',
      FAKETIME_DONT_FAKE_MONOTONIC: '1',
      // Files were changed when they were changed, whatever the clock says now.
      NO_FAKE_STAT: '1',
    };
  }

  /** What the process takes for the time. */
  now(): number {
    return Date.now() + this.#aheadMs;
  }

  /** Sets the clock to a moment. The file is replaced whole: it may be read at any time. */
  async set(atMs: number): Promise<void> {
    this.#aheadMs = atMs - Date.now();
    const seconds = this.#aheadMs / 1_000;
    await writeFile(`${this.#file}.next`, `${seconds < 0 ? '' : '+'}${seconds.toFixed(3)}\n`);
    await rename(`${this.#file}.next`, this.#file);
  }
}
