import { createServer, type Server } from 'node:http';

/** Field numbers of the answer to a check-in (Chromium, google_apis/gcm/protocol/checkin.proto, from memory). */
const [statsOk, androidId, securityToken] = [1, 7, 8];

/**
 * Where Chromium registers subscriptions, on this machine: it gives out endpoints, and delivers nothing. Chromium asks
 * it when it is started with {@link Registrar.arguments}.
 */
export class Registrar {
  readonly #server: Server;
  #count = 0;
  #address = '';

  constructor() {
    this.#server = createServer((request, response) => {
      request.resume();
      request.on('end', () => {
        if (request.url === '/checkin') {
          response.setHeader('content-type', 'application/x-protobuf').end(checkIn());
        } else {
          this.#count += 1;
          response.end(`token=subscription-${this.#count}`);
        }
      });
    });
  }

  async open(): Promise<void> {
    await new Promise<void>((resolve) => this.#server.listen(0, '127.0.0.1', resolve));
    const address = this.#server.address();
    if (address === null || typeof address === 'string') throw new Error('no port');
    this.#address = `http://127.0.0.1:${address.port}`;
  }

  get arguments(): string[] {
    return [
      `--gcm-checkin-url=${this.#address}/checkin`,
      `--gcm-registration-url=${this.#address}/register`,
      // Nobody listens there: messages are handed to the worker by the tests.
      '--gcm-mcs-endpoint=127.0.0.1:1',
    ];
  }

  async close(): Promise<void> {
    this.#server.closeAllConnections();
    await new Promise((resolve) => this.#server.close(resolve));
  }
}

/** Protocol buffers: a field is its number and the kind of its value, then the value. */
function checkIn(): Buffer {
  const ids = [androidId, securityToken].map((field) => {
    const bytes = Buffer.alloc(9);
    bytes.writeUInt8((field << 3) | 1);
    bytes.writeBigUInt64LE(1_234_567_890_123n + BigInt(field), 1);
    return bytes;
  });
  return Buffer.concat([Buffer.from([statsOk << 3, 1]), ...ids]);
}
