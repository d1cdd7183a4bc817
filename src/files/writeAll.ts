/** An open file, reduced to what writing needs. */
export type Writable = { writev(pieces: readonly Uint8Array[]): Promise<{ bytesWritten: number }> };

/**
 * Writes pieces in order without joining them first, because joining took longer than writing. The system may write
 * fewer bytes than requested (POSIX.1-2017, writev), for example when the disk is nearly full; the rest is written
 * again until all of it is written or there is an error.
 *
 * @throws the system's error
 */
export async function writeAll(file: Writable, pieces: readonly Uint8Array[]): Promise<void> {
  let left = pieces.filter((piece) => piece.length > 0);
  while (left.length > 0) left = without(left, (await file.writev(left)).bytesWritten);
}

/** Returns the pieces without their first bytes. */
function without(pieces: readonly Uint8Array[], writtenBytes: number): Uint8Array[] {
  let skipBytes = writtenBytes;
  return pieces.flatMap((piece) => {
    const skipped = Math.min(skipBytes, piece.length);
    skipBytes -= skipped;
    return skipped === piece.length ? [] : [piece.subarray(skipped)];
  });
}
