import { Agent as HttpAgent, type OutgoingHttpHeaders, request as requestHttp } from 'node:http';
import { Agent as HttpsAgent, request as requestHttps } from 'node:https';
import type { LookupFunction } from 'node:net';
import { withDeadline } from './deadline.js';
import { InFlight } from './inFlight.js';
import { ClosedNetworkError } from './publicHost.js';

/** A response is read only up to this size, so that its connection can be reused. */
const longestAnswerBytes = 16_384;

export type Answer =
  | { kind: 'answered'; status: number }
  | { kind: 'unreachable' }
  /** It was handed over completely, but the wait for its response ended: it may or may not have been accepted. */
  | { kind: 'unanswered' }
  /** The address points into a closed network. */
  | { kind: 'closed' }
  /** The caller's signal aborted. */
  | { kind: 'interrupted' };

export type PostTimes = {
  /** From the DNS lookup to having handed over the whole request. */
  handingMs: number;
  /** From then to the last byte of the response. */
  answerMs: number;
};

/** Two minutes for a response are our choice; no source: RFC 9110 gives none. */
export const usualPostTimes: PostTimes = { handingMs: 20_000, answerMs: 120_000 };

export type PosterOptions = PostTimes & {
  /** Looks up names; the system's resolver when left out. */
  lookup?: LookupFunction;
};

type Posted = { headers: OutgoingHttpHeaders; body: Buffer; onHandedOver: () => void };

/** Posts to other servers over keep-alive connections; never follows a redirect. */
export class Poster {
  readonly #options: PosterOptions;
  readonly #inFlight = new InFlight();
  readonly #agents: { http: HttpAgent; https: HttpsAgent };

  constructor(options: PosterOptions) {
    this.#options = options;
    const keeping = {
      keepAlive: true,
      // Each slow response holds one socket, and must not hold up others. Our choice; no source.
      maxSockets: 60,
      ...(options.lookup === undefined ? {} : { lookup: options.lookup }),
    };
    this.#agents = { http: new HttpAgent(keeping), https: new HttpsAgent(keeping) };
  }

  /**
   * @param onHandedOver called once the whole request is on its way; giving up after that leaves open whether it
   *   arrives
   */
  post(
    url: URL,
    { headers, body }: { headers: OutgoingHttpHeaders; body: Buffer },
    signal: AbortSignal,
    onHandedOver: () => void = () => undefined,
  ): Promise<Answer> {
    return this.#inFlight.track(this.#answer(url, { headers, body, onHandedOver }, signal));
  }

  /** Lets requests in flight finish first: interrupting one would leave open whether it has arrived. */
  async close(): Promise<void> {
    await this.#inFlight.ended();
    this.#agents.http.destroy();
    this.#agents.https.destroy();
  }

  #answer(url: URL, { onHandedOver, ...content }: Posted, outerSignal: AbortSignal): Promise<Answer> {
    const { handingMs, answerMs } = this.#options;
    return withDeadline(outerSignal, handingMs, async (signal, prolong): Promise<Answer> => {
      let isHandedOver = false;
      const handedOver = () => {
        isHandedOver = true;
        prolong(answerMs);
        onHandedOver();
      };
      try {
        const posted = { ...content, onHandedOver: handedOver };
        return { kind: 'answered', status: await this.#statusOf(url, posted, signal) };
      } catch (error) {
        // If the server itself closes the connection, it has not accepted the request, which is retried.
        if (isHandedOver && signal.aborted) return { kind: 'unanswered' };
        if (outerSignal.aborted) return { kind: 'interrupted' };
        return { kind: error instanceof ClosedNetworkError ? 'closed' : 'unreachable' };
      }
    });
  }

  #statusOf(url: URL, { headers, body, onHandedOver }: Posted, signal: AbortSignal): Promise<number> {
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
      request.once('finish', onHandedOver);
      request.once('response', (response) => {
        const status = response.statusCode ?? 0;
        let bytes = 0;
        response.on('data', (chunk: Buffer) => {
          bytes += chunk.length;
          if (bytes > longestAnswerBytes) response.destroy();
        });
        // The status is the answer; a failure after it changes nothing.
        response.on('error', () => resolve(status));
        response.once('close', () => resolve(status));
      });
      request.end(body);
    });
  }
}
