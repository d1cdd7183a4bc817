import { type ChildProcess, fork } from 'node:child_process';
import { createRequire } from 'node:module';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { z } from 'zod';
import { workError } from '../../errors/stillcountError.js';
import { SpareProcesses } from './spareProcesses.js';
import type { FliteRequest, FliteResult } from './synthesiser.js';

const resultSchema = z.strictObject({ wave: z.instanceof(Uint8Array).nullable(), message: z.string() });

type Job = { request: FliteRequest; resolve: (result: FliteResult) => void; reject: (error: Error) => void };

/**
 * A few synthesizer processes that share a queue. They are processes rather than threads, because the memory of a
 * phrase is freed with its process, and a phrase that hangs can be killed. Each needs about 150 MB, 107 MB of them its
 * own (Linux x64, Node 20.20, 160 phrases).
 *
 * Processes start when there is work for them, and idle ones do not keep this process alive. Processes that are idle
 * when a pool closes stay available to the next pool for a few seconds. A clinic speaks sentence after sentence, each
 * with its own pool, and starting a process and compiling the voice in it takes longer than most sentences.
 */
export class SynthesiserPool {
  readonly #idle: ChildProcess[] = [];
  /** The running processes, each with what to do when it ends. */
  readonly #running = new Map<ChildProcess, () => void>();
  readonly #queue: Job[] = [];
  #closed = false;

  /**
   * @param timeoutMs how long one phrase may take before its process is killed
   */
  constructor(
    readonly size: number,
    readonly timeoutMs: number,
  ) {}

  /**
   * Speaks one request.
   *
   * @throws StillcountError kind `work` when the process ends or takes too long, or the pool is closed
   */
  run(request: FliteRequest): Promise<FliteResult> {
    if (this.#closed) return Promise.reject(ended('it was closed'));
    return new Promise((resolve, reject) => {
      this.#queue.push({ request, resolve, reject });
      this.#startNext();
    });
  }

  /** Kills every busy process; waiting and running requests are rejected. Safe to call twice. */
  async close(): Promise<void> {
    this.#closed = true;
    for (const job of this.#queue.splice(0)) job.reject(ended('it was closed'));
    for (const child of this.#idle.splice(0)) {
      const forget = this.#running.get(child);
      this.#running.delete(child);
      if (forget !== undefined) child.off('exit', forget).off('error', forget);
      spare.keep(child);
    }
    const busy = [...this.#running.keys()];
    const gone = busy.map((child) => new Promise((resolve) => child.once('exit', resolve)));
    for (const child of busy) {
      child.ref();
      child.kill('SIGKILL');
    }
    await Promise.all(gone);
  }

  #startNext(): void {
    const job = this.#queue[0];
    if (job === undefined) return;
    const child = this.#idle.pop() ?? (this.#running.size < this.size ? this.#start() : undefined);
    if (child === undefined) return;
    this.#queue.shift();
    this.#give(child, job);
  }

  #start(): ChildProcess {
    const child =
      spare.take() ??
      fork(entry.path, [], {
        execArgv: entry.execArgv,
        serialization: 'advanced',
        stdio: ['ignore', 'ignore', 'ignore', 'ipc'],
      });
    const forget = () => {
      this.#running.delete(child);
      const at = this.#idle.indexOf(child);
      if (at >= 0) this.#idle.splice(at, 1);
      if (!this.#closed) this.#startNext();
    };
    this.#running.set(child, forget);
    child.once('exit', forget);
    child.once('error', forget);
    return child;
  }

  #give(child: ChildProcess, job: Job): void {
    child.ref();
    child.channel?.ref();
    const settle = (finish: () => void) => {
      clearTimeout(timer);
      child.off('message', onMessage).off('exit', onExit).off('error', onError);
      finish();
    };
    const onMessage = (message: unknown) => {
      const result = resultSchema.safeParse(message);
      settle(() => (result.success ? job.resolve(result.data) : job.reject(ended('its answer was damaged'))));
      child.unref();
      child.channel?.unref();
      this.#idle.push(child);
      this.#startNext();
    };
    const onExit = () => settle(() => job.reject(ended(this.#closed ? 'it was closed' : 'its process died')));
    const onError = (error: Error) => settle(() => job.reject(ended(error.message, error)));
    const timer = setTimeout(() => {
      settle(() => job.reject(ended(`one phrase took longer than ${this.timeoutMs / 1000} s`)));
      child.kill('SIGKILL');
    }, this.timeoutMs);
    child.on('message', onMessage).on('exit', onExit).on('error', onError);
    child.send(job.request, (error) => {
      if (error !== null) onError(error);
    });
  }
}

/** Shared by all pools of this process, because all synthesizer processes are alike. */
const spare = new SpareProcesses({ most: 2, ms: 5_000 });

function ended(why: string, cause?: unknown) {
  return workError({ message: `The embedded voice stopped: ${why}.` }, cause);
}

/** The file next to this one: TypeScript during development, JavaScript once compiled. */
const entry = import.meta.url.endsWith('.ts')
  ? {
      path: fileURLToPath(new URL('./synthesiserProcess.ts', import.meta.url)),
      execArgv: ['--import', pathToFileURL(createRequire(import.meta.url).resolve('tsx')).href],
    }
  : { path: fileURLToPath(new URL('./synthesiserProcess.js', import.meta.url)), execArgv: [] };
