import type { AddressInfo, Server, Socket } from 'node:net';
import { createServer } from 'node:net';

/** The connections of a server, so that a test can wait for the last one to end. */
export class OpenSockets {
  readonly #sockets = new Set<Socket>();
  readonly #waiting: (() => void)[] = [];

  constructor(server: Server) {
    server.on('connection', (socket) => {
      this.#sockets.add(socket);
      socket.once('close', () => {
        this.#sockets.delete(socket);
        if (this.#sockets.size === 0) for (const resolve of this.#waiting.splice(0)) resolve();
      });
    });
  }

  get count(): number {
    return this.#sockets.size;
  }

  whenNone(): Promise<void> {
    return this.count === 0 ? Promise.resolve() : new Promise((resolve) => this.#waiting.push(resolve));
  }

  destroyAll(): void {
    for (const socket of this.#sockets) socket.destroy();
  }
}

export function listening(server: Server): Promise<number> {
  return new Promise((resolve, reject) => {
    server.once('error', reject);
    server.listen(0, '127.0.0.1', () => resolve((server.address() as AddressInfo).port));
  });
}

/** A port of this machine on which nobody listens. */
export async function deadPort(): Promise<number> {
  const server = createServer();
  const port = await listening(server);
  await new Promise((resolve) => server.close(resolve));
  return port;
}
