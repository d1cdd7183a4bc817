import { statSync } from 'node:fs';
import { sql } from 'kysely';
import { workError } from '../../errors/stillcountError.js';
import { errorCodeOf } from '../../files/fileProblem.js';
import type { Db } from './db.js';

/** A slow memory card reads 40 MB in a second; a larger file is checked once the service runs, without holding it up. */
export const mostBytesAtStart = 40e6;

/** What to do about a damaged file. */
export const mendDamage =
  'keep the file, move it and those beside it elsewhere, and put the newest backup in with "stillcount restore FILE"';

/**
 * What SQLite finds wrong with the structure of its file (`pragma quick_check`), in its own words: pages and tables, no
 * data. It cannot detect changed letters within a text.
 *
 * @returns null if all is well
 */
export async function findDamage(db: Db): Promise<string | null> {
  try {
    const { rows } = await sql<{ quick_check: string }>`pragma quick_check(1)`.execute(db);
    const answer = rows[0]?.quick_check ?? 'no answer';
    return answer === 'ok' ? null : answer.replaceAll(/\s+/g, ' ').replaceAll('*', '').trim();
  } catch (error) {
    if (!/^SQLITE_(CORRUPT|NOTADB)/.test(errorCodeOf(error) ?? '')) throw error;
    return 'it is no SQLite database any more, or a part of it cannot be read';
  }
}

/**
 * Checks an open file if that takes less than a second.
 *
 * @throws StillcountError kind `work` if it is damaged
 */
export async function refuseDamaged(
  db: Db,
  file: string,
  mostBytes: number = mostBytesAtStart,
): Promise<void> {
  if ((statSync(file, { throwIfNoEntry: false })?.size ?? 0) > mostBytes) return;
  const found = await findDamage(db);
  if (found === null) return;
  throw workError({
    message: 'the database file is damaged',
    file,
    found,
    hint: `nothing was started: ${mendDamage}`,
  });
}
