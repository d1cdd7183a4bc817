import type { ChildProcess } from 'node:child_process';

/** Idle child processes that are kept for a short time for reuse. They do not keep this process alive. */
export class SpareProcesses {
  readonly #kept = new Map<ChildProcess, { timer: NodeJS.Timeout; drop: () => void }>();
  readonly #limits: { most: number; ms: number };

  /**
   * @param limits how many processes are kept, and for how long
   */
  constructor(limits: { most: number; ms: number }) {
    this.#limits = limits;
  }

  /** Keeps an idle process, or ends it where there are enough. */
  keep(child: ChildProcess): void {
    if (this.#kept.size >= this.#limits.most || !child.connected) {
      end(child);
      return;
    }
    const drop = () => this.#release(child);
    const timer = setTimeout(() => {
      drop();
      end(child);
    }, this.#limits.ms);
    timer.unref();
    child.once('exit', drop).once('error', drop);
    this.#kept.set(child, { timer, drop });
  }

  /**
   * Returns the process that was added last, because its data are most likely still in the processor's cache; undefined
   * when there is none.
   */
  take(): ChildProcess | undefined {
    for (const child of [...this.#kept.keys()].reverse()) {
      this.#release(child);
      if (child.connected) return child;
    }
    return undefined;
  }

  #release(child: ChildProcess): void {
    const entry = this.#kept.get(child);
    if (entry === undefined) return;
    this.#kept.delete(child);
    clearTimeout(entry.timer);
    child.off('exit', entry.drop).off('error', entry.drop);
  }
}

function end(child: ChildProcess): void {
  child.once('error', () => undefined).kill('SIGKILL');
}
