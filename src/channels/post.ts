import { Agent as HttpAgent, type OutgoingHttpHeaders, request as requestHttp } from 'node:http';
import { Agent as HttpsAgent, request as requestHttps } from 'node:https';
import type { LookupFunction } from 'node:net';
import { withDeadline } from './deadline.js';
import { ClosedNetworkError } from './publicHost.js';
import { UnderWay } from './underWay.js';

/** An answer is read to its end only so far, so that its connection can be used again. */
const longestAnswerBytes = 16_384;

export type Answer =
  | { kind: 'answered'; status: number }
  | { kind: 'unreachable' }
  /** The address leads into a network that is closed to it. */
  | { kind: 'closed' }
  /** The caller's signal said so. */
  | { kind: 'interrupted' };

export type PosterOptions = {
  /** For one request, from the look-up of the name to the last byte of the answer. */
  deadlineMs: number;
  /** Where names are looked up; the system's resolver when left out. */
  lookup?: LookupFunction;
};

/** Posts to other servers over connections that are kept; never follows a redirect. */
export class Poster {
  readonly #options: PosterOptions;
  readonly #underWay = new UnderWay();
  readonly #agents: { http: HttpAgent; https: HttpsAgent };

  constructor(options: PosterOptions) {
    this.#options = options;
    const keeping = {
      keepAlive: true,
      maxSockets: 20,
      ...(options.lookup === undefined ? {} : { lookup: options.lookup }),
    };
    this.#agents = { http: new HttpAgent(keeping), https: new HttpsAgent(keeping) };
  }

  post(url: URL, headers: OutgoingHttpHeaders, body: Buffer, signal: AbortSignal): Promise<Answer> {
    return this.#underWay.track(this.#answer(url, headers, body, signal));
  }

  /** Lets what is under way come to its end first: cutting it off would leave open whether it has arrived. */
  async close(): Promise<void> {
    await this.#underWay.ended();
    this.#agents.http.destroy();
    this.#agents.https.destroy();
  }

  #answer(url: URL, headers: OutgoingHttpHeaders, body: Buffer, outerSignal: AbortSignal): Promise<Answer> {
    return withDeadline(outerSignal, this.#options.deadlineMs, async (signal): Promise<Answer> => {
      try {
        return { kind: 'answered', status: await this.#statusOf(url, headers, body, signal) };
      } catch (error) {
        if (outerSignal.aborted) return { kind: 'interrupted' };
        return { kind: error instanceof ClosedNetworkError ? 'closed' : 'unreachable' };
      }
    });
  }

  #statusOf(url: URL, headers: OutgoingHttpHeaders, body: Buffer, signal: AbortSignal): Promise<number> {
    return new Promise((resolve, reject) => {
      const options = {
        method: 'POST',
        headers: { ...headers, 'content-length': body.length },
        signal,
      };
      const request =
        url.protocol === 'https:'
          ? requestHttps(url, { ...options, agent: this.#agents.https })
          : requestHttp(url, { ...options, agent: this.#agents.http });
      request.on('error', reject);
      request.once('response', (response) => {
        const status = response.statusCode ?? 0;
        let bytes = 0;
        response.on('data', (chunk: Buffer) => {
          bytes += chunk.length;
          if (bytes > longestAnswerBytes) response.destroy();
        });
        // The status is the answer; what breaks off after it changes nothing.
        response.on('error', () => resolve(status));
        response.once('close', () => resolve(status));
      });
      request.end(body);
    });
  }
}
