import { type Check, type Checked, type CheckName, runChecks } from '../checks/check.js';
import type { TroubleKind, Troubles } from '../checks/troubles.js';
import type { Log } from '../log/log.js';

/** Checks that can fail and recover while a service runs. A warning about the disk is also shown on the home page. */
const watched: ReadonlyMap<CheckName, { kind: TroubleKind; isSeldom: boolean; isNeeded: boolean }> = new Map([
  ['encoder', { kind: 'no-encoder', isSeldom: false, isNeeded: true }],
  ['voice', { kind: 'no-voice', isSeldom: false, isNeeded: true }],
  ['disk', { kind: 'disk-nearly-full', isSeldom: false, isNeeded: true }],
  // A server locks out clients that fail to sign in too often.
  ['channels', { kind: 'messages-blocked', isSeldom: true, isNeeded: true }],
  // Without it, sessions are still rendered and messages sent.
  ['backup folder', { kind: 'backup-folder', isSeldom: true, isNeeded: false }],
]);

const oftenMs = 60_000;
const seldomMs = 5 * oftenMs;
/** Longer than at startup, where someone waits; shorter than stopping may take. */
export const watchedMs = 12_000;

export type CheckWatchParts = {
  checks: readonly Check[];
  /** The results of the startup checks. */
  checked: readonly Checked[];
  troubles: Troubles;
  log: Log;
};

export type CheckWatch = {
  /** Returns the current faults in checks that sessions or messages depend on. */
  faults(): CheckName[];
  /** Stops it and waits for work in progress. */
  end(): Promise<void>;
};

/**
 * Keeps checking what can fail and recover: each minute, and every five minutes if a check costs others something. A
 * fault is shown on the owner's home page until it is over.
 */
export function watchChecks({ checks, checked, troubles, log }: CheckWatchParts): CheckWatch {
  const faults = new Set<CheckName>();
  const open = new Set<CheckName>();
  const take = (results: readonly Checked[]) => {
    for (const { name, state, found } of results) {
      const about = watched.get(name);
      if (about === undefined) continue;
      if (state === 'fault' && about.isNeeded) faults.add(name);
      else faults.delete(name);
      if (state === 'fault' || (state === 'warning' && name === 'disk')) {
        if (!open.has(name)) log({ event: 'trouble', code: about.kind, cause: found });
        open.add(name);
        troubles.begin(about.kind, found);
      } else if (open.delete(name)) {
        log({ event: 'trouble-over', code: about.kind });
        troubles.end(about.kind);
      }
    }
  };
  const lookEvery = (everyMs: number, isSeldom: boolean) => {
    const some = checks.filter(({ name }) => watched.get(name)?.isSeldom === isSeldom);
    let looking: Promise<void> | null = null;
    const timer = setInterval(() => {
      looking ??= runChecks(some, watchedMs)
        .then(take)
        .finally(() => {
          looking = null;
        });
    }, everyMs);
    return async () => {
      clearInterval(timer);
      await looking;
    };
  };
  take(checked);
  const ends = [lookEvery(oftenMs, false), lookEvery(seldomMs, true)];
  return {
    faults: () => [...faults],
    end: async () => {
      await Promise.all(ends.map((end) => end()));
    },
  };
}
