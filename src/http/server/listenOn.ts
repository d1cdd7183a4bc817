import type { Server } from 'node:http';
import { type Problem, workError } from '../../errors/stillcountError.js';
import { errorCodeOf } from '../../files/fileProblem.js';

/**
 * Starts accepting requests.
 *
 * @returns the address it listens on, with the actual port if it asked for any
 * @throws StillcountError kind `work` naming the setting, if the port or the host cannot be used
 */
export function listenOn(server: Server, { port, host }: { port: number; host: string }): Promise<string> {
  return new Promise((resolve, reject) => {
    server.once('error', (error) => reject(cannotListen(error, { port, host })));
    server.listen(port, host, () => {
      const address = server.address();
      resolve(`http://${host}:${typeof address === 'object' && address !== null ? address.port : port}`);
    });
  });
}

/** The message for each failure, and what to do. */
const refusals: Readonly<Record<string, Pick<Problem, 'message' | 'hint' | 'path'>>> = {
  EADDRINUSE: {
    path: 'STILLCOUNT_PORT',
    message: 'another program uses this port',
    hint: 'stop it, or choose another port',
  },
  EACCES: {
    path: 'STILLCOUNT_PORT',
    message: 'this user may not use this port',
    hint: 'use a port above 1023',
  },
  EADDRNOTAVAIL: noSuchAddress(),
  ENOTFOUND: noSuchAddress(),
};

function noSuchAddress() {
  return {
    path: 'STILLCOUNT_HOST',
    message: 'this machine has no such address',
    hint: 'use one of its own, such as 127.0.0.1',
  };
}

function cannotListen(error: Error, { port, host }: { port: number; host: string }) {
  const known = refusals[errorCodeOf(error) ?? ''] ?? {
    path: 'STILLCOUNT_PORT',
    message: 'this port cannot be used',
    hint: 'name another',
  };
  return workError({ ...known, found: `${host}:${port}` }, error);
}
