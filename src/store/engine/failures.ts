import { StillcountError, workError } from '../../errors/stillcountError.js';
import { errorCodeOf } from '../../files/fileProblem.js';
import { mendDamage } from './damage.js';

type Failure = { message: string; hint: string };

/** By the code of SQLite, of PostgreSQL (Appendix A: its class is the first two characters) or of the system. */
const failures: readonly [RegExp, Failure][] = [
  [/^SQLITE_FULL|^53100|^ENOSPC/, { message: 'the disk is full', hint: 'free disk space; nothing was lost' }],
  [
    /^SQLITE_READONLY|^25006|^EROFS/,
    {
      message: 'the database is read-only',
      hint: 'give this user write permission for its file and folder',
    },
  ],
  [
    /^SQLITE_(BUSY|LOCKED)|^55P03/,
    { message: 'the database is locked by another program', hint: 'close the other program and try again' },
  ],
  [
    /^SQLITE_(CORRUPT|NOTADB)/,
    { message: 'the database file is damaged', hint: `stop the service, ${mendDamage}` },
  ],
  [
    /^SQLITE_CANTOPEN/,
    {
      message: 'the database file cannot be opened',
      hint: 'the user running this must own it, the files beside it and their folder; they may belong to another user',
    },
  ],
  [/^SQLITE_IOERR|^58/, { message: 'the disk reported a fault', hint: 'check the disk, then try again' }],
  [
    /^(08|57P|53300)|^(ECONN|EPIPE|ETIMEDOUT|ENOTFOUND|EHOSTUNREACH|EAI_AGAIN)/,
    { message: 'the database cannot be reached', hint: 'it is retried with the next request' },
  ],
  [
    /^57014/,
    { message: 'the database takes too long to answer', hint: 'check what else it is doing, then try again' },
  ],
  [/^28|^3D000/, { message: 'the database refuses this user', hint: 'check DATABASE_URL' }],
];

/** Driver failures without a code. */
const lostConnection =
  /connection terminated|timeout exceeded when trying to connect|connection ended|query read timeout/i;

/** A database failure in plain words, without any data; other errors unchanged. */
export function explainFailure(error: unknown): unknown {
  if (error instanceof StillcountError) return error;
  const code = errorCodeOf(error) ?? '';
  const known = failures.find(([pattern]) => pattern.test(code))?.[1];
  if (known !== undefined) return workError(known, error);
  if (error instanceof Error && lostConnection.test(error.message)) {
    return workError(
      { message: 'the database cannot be reached', hint: 'it is retried with the next request' },
      error,
    );
  }
  return error;
}
