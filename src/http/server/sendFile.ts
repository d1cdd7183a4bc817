import { pipeline } from 'node:stream/promises';
import type { Response } from 'express';
import type { CheckedFile } from '../../files/checkedFiles.js';

const pieceBytes = 1 << 16;

/**
 * Sends a checked file, whole or in any range, with its hash as a strong validator (RFC 9110, sections 8.8.3 and 14): a
 * client that resumes with different bytes gets the whole. Closes it.
 *
 * @param options.name determines its type
 * @param options.download the name to save it under; null to play it
 */
export async function sendFile(
  response: Response,
  { handle, bytes, sha256 }: CheckedFile,
  { name, download }: { name: string; download: string | null },
): Promise<void> {
  try {
    const etag = `"${sha256.slice(0, 32)}"`;
    response.set({ 'cache-control': 'private, no-cache', 'accept-ranges': 'bytes', etag });
    if (download !== null) response.attachment(download);
    response.type(name);
    const { req: request } = response;
    if (request.fresh) return void response.status(304).end();
    const part = partOf(response, etag, bytes);
    if (part === null) {
      return void response.status(416).set('content-range', `bytes */${bytes}`).end();
    }
    const { first, last } = part;
    if (part.isRange) response.status(206).set('content-range', `bytes ${first}-${last}/${bytes}`);
    response.set('content-length', String(last - first + 1));
    if (request.method === 'HEAD') return void response.end();
    await pipeline(piecesOf(handle, first, last), response);
  } catch (error) {
    // A listener who leaves halfway is not a fault.
    if (!isLeaving(error)) throw error;
  } finally {
    await handle.close();
  }
}

type Part = { first: number; last: number; isRange: boolean };

/** Rule RANGE-2: the requested range; null if there is none. A request for several ranges gets the whole. */
function partOf({ req: request }: Response, etag: string, bytes: number): Part | null {
  const whole = { first: 0, last: bytes - 1, isRange: false };
  const condition = request.get('if-range');
  if (condition !== undefined && condition !== etag) return whole;
  const ranges = request.range(bytes, { combine: true });
  if (ranges === -1) return null;
  if (ranges === undefined || ranges === -2 || ranges.type !== 'bytes') return whole;
  const [range, ...others] = ranges;
  if (range === undefined || others.length > 0) return whole;
  return { first: range.start, last: range.end, isRange: true };
}

/** Exactly these bytes, or an error that ends the connection: a short response must not look complete. */
async function* piecesOf(handle: CheckedFile['handle'], first: number, last: number): AsyncIterable<Buffer> {
  for (let at = first; at <= last; ) {
    const piece = Buffer.allocUnsafe(Math.min(pieceBytes, last + 1 - at));
    const { bytesRead } = await handle.read(piece, 0, piece.length, at);
    if (bytesRead === 0) throw new RangeError('a file became shorter while it was sent');
    at += bytesRead;
    yield piece.subarray(0, bytesRead);
  }
}

function isLeaving(error: unknown): boolean {
  return error instanceof Error && 'code' in error && error.code === 'ERR_STREAM_PREMATURE_CLOSE';
}
