import type { Server } from 'node:http';
import { workError } from '../errors/stillcountError.js';

/**
 * Begins to answer requests.
 *
 * @returns the address that it answers at, with the port that it was given where it asked for any
 * @throws StillcountError kind `work` when the port cannot be used
 */
export function listenOn(server: Server, { port, host }: { port: number; host: string }): Promise<string> {
  return new Promise((resolve, reject) => {
    server.once('error', (error) => {
      reject(
        workError(
          {
            message: 'this port cannot be used',
            path: 'STILLCOUNT_PORT',
            found: `${host}:${port}`,
            hint: 'stop what uses it, or name another',
          },
          error,
        ),
      );
    });
    server.listen(port, host, () => {
      const address = server.address();
      resolve(`http://${host}:${typeof address === 'object' && address !== null ? address.port : port}`);
    });
  });
}
