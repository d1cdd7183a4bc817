import type { Response } from 'express';

/**
 * Sends a file whose bytes never change, whole or in any range, with its name as a strong validator (RFC 9110,
 * sections 8.8.3 and 14).
 *
 * @param file.key names the bytes
 * @param file.download the name to keep it under; null to play it
 */
export function sendFile(
  response: Response,
  { path, key, download }: { path: string; key: string; download: string | null },
): Promise<void> {
  response.set('cache-control', 'private, no-cache');
  response.set('etag', `"${key.slice(0, 32)}"`);
  if (download !== null) response.attachment(download);
  return new Promise((resolve, reject) => {
    // The folder of made sound may lie anywhere, also below one whose name begins with a dot.
    response.sendFile(path, { cacheControl: false, lastModified: false, dotfiles: 'allow' }, (error) => {
      if (error === undefined || error === null || response.destroyed) resolve();
      else reject(error);
    });
  });
}
