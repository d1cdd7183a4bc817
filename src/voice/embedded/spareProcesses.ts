import type { ChildProcess } from 'node:child_process';

/** Child processes that nobody needs at the moment, kept for a little while. They do not keep this process alive. */
export class SpareProcesses {
  readonly #kept = new Map<ChildProcess, { timer: NodeJS.Timeout; drop: () => void }>();
  readonly #limits: { most: number; ms: number };

  /** @param limits how many are kept, and for how long */
  constructor(limits: { most: number; ms: number }) {
    this.#limits = limits;
  }

  /** Keeps one that has nothing to do, or ends it where there are enough. */
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

  /** One that was kept last, as what it works with is most likely still in the processor's memory; otherwise undefined. */
  take(): ChildProcess | undefined {
    for (const child of [...this.#kept.keys()].reverse()) {
      this.#release(child);
      if (child.connected) return child;
    }
    return undefined;
  }

  #release(child: ChildProcess): void {
    const kept = this.#kept.get(child);
    if (kept === undefined) return;
    this.#kept.delete(child);
    clearTimeout(kept.timer);
    child.off('exit', kept.drop).off('error', kept.drop);
  }
}

function end(child: ChildProcess): void {
  child.once('error', () => undefined).kill('SIGKILL');
}
