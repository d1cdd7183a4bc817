/** An open file, as far as writing to it goes. */
export type Writable = { writev(pieces: readonly Uint8Array[]): Promise<{ bytesWritten: number }> };

/**
 * Writes pieces one after the other from where they lie: putting them together first took longer than the writing. A
 * system may take fewer bytes than it is given (POSIX.1-2017, writev), as when the disk is nearly full; the rest is
 * given to it again, until it takes all or says why not.
 *
 * @throws the system's error
 */
export async function writeAll(file: Writable, pieces: readonly Uint8Array[]): Promise<void> {
  let left = pieces.filter((piece) => piece.length > 0);
  while (left.length > 0) left = without(left, (await file.writev(left)).bytesWritten);
}

/** The pieces without their first bytes. */
function without(pieces: readonly Uint8Array[], writtenBytes: number): Uint8Array[] {
  let skipBytes = writtenBytes;
  return pieces.flatMap((piece) => {
    const skipped = Math.min(skipBytes, piece.length);
    skipBytes -= skipped;
    return skipped === piece.length ? [] : [piece.subarray(skipped)];
  });
}
