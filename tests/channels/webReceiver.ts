import { createServer, type IncomingHttpHeaders } from 'node:http';
import { Hold } from './hold.js';
import { listening, OpenSockets } from './openSockets.js';

type ReceivedRequest = { method: string; path: string; headers: IncomingHttpHeaders; body: Buffer };

export type TestReceiver = {
  /** Where it listens: `http://127.0.0.1:PORT`. */
  address: string;
  /** The status of its answers; `hold` keeps them back until the test lets them go, `drop` breaks off. */
  behaviour: number | 'hold' | 'drop' | 'endless';
  answerHeaders: Record<string, string>;
  readonly received: ReceivedRequest[];
  readonly hold: Hold;
  readonly sockets: OpenSockets;
  stop(): Promise<void>;
};

/** A real HTTP server on this machine that keeps what it was sent. */
export async function openReceiver(): Promise<TestReceiver> {
  const received: ReceivedRequest[] = [];
  const hold = new Hold();
  const server = createServer(async (request, response) => {
    const chunks: Buffer[] = [];
    for await (const chunk of request) chunks.push(Buffer.from(chunk));
    const take = () => {
      const { method = '', url = '', headers } = request;
      received.push({ method, path: url, headers, body: Buffer.concat(chunks) });
    };
    const { behaviour } = test;
    if (behaviour === 'drop') {
      request.socket.destroy();
    } else if (behaviour === 'hold') {
      hold.keep(() => {
        take();
        response.writeHead(201).end();
      });
    } else if (behaviour === 'endless') {
      take();
      response.writeHead(201);
      const more = () => {
        while (!response.destroyed && response.write(Buffer.alloc(65_536)));
      };
      response.on('drain', more);
      more();
    } else {
      take();
      response.writeHead(behaviour, test.answerHeaders).end('what a server says');
    }
  });
  const sockets = new OpenSockets(server);
  const port = await listening(server);
  const test: TestReceiver = {
    ...{ address: `http://127.0.0.1:${port}`, behaviour: 201, answerHeaders: {}, received, hold, sockets },
    stop: () => {
      sockets.destroyAll();
      return new Promise((resolve) => server.close(() => resolve()));
    },
  };
  return test;
}
