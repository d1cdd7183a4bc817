import { type StillcountError, workError } from '../errors/stillcountError.js';

const reasonByCode: Readonly<Record<string, string>> = {
  ENOSPC: 'the disk is full',
  EDQUOT: 'the disk space allowed to this user is used up',
  EFBIG: 'the file is larger than this disk or user may hold',
  EACCES: 'there is no permission to write there',
  EPERM: 'there is no permission to write there',
  EROFS: 'the disk can only be read, not written',
  ENOTDIR: 'a part of the path is a file, not a folder',
  EEXIST: 'a part of the path is a file, not a folder',
  EISDIR: 'a folder of that name is in the way',
  ENOTEMPTY: 'a folder of that name is in the way',
  ENOENT: 'the folder does not exist',
  ENAMETOOLONG: 'the name is too long',
  EMFILE: 'too many files are open',
  EBUSY: 'another program is using it',
  EIO: 'the disk reported a fault',
};

/** Returns the system's error code, such as `ENOSPC`, or undefined when the error has none. */
export function errorCodeOf(error: unknown): string | undefined {
  if (typeof error !== 'object' || error === null || !('code' in error)) return undefined;
  return typeof error.code === 'string' ? error.code : undefined;
}

/**
 * Returns an error that says in plain words why a file could not be written: kind `work`, with the path and the cause.
 *
 * @param hint what to do about it
 */
export function cannotWrite(path: string, cause: unknown, hint?: string): StillcountError {
  const code = errorCodeOf(cause);
  const known = code === undefined ? undefined : reasonByCode[code];
  const reason = known ?? (cause instanceof Error ? cause.message : String(cause));
  const problem = { message: `This file could not be written: ${reason}.`, file: path };
  return workError(hint === undefined ? problem : { ...problem, hint }, cause);
}
