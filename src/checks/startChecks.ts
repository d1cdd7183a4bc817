import { StillcountError } from '../errors/stillcountError.js';
import type { Checked, CheckName, Finding } from './check.js';

/** A service cannot do anything right without these. */
const neverWithout: ReadonlySet<CheckName> = new Set(['clock', 'database', 'schema']);

/**
 * Refuses to start if nothing that the service does would be right. It reports every other fault once it runs, because
 * people who cannot sign in cannot read about warning signs either.
 *
 * @throws StillcountError kind `work` naming each fault, with what to do
 */
export function refuseToStart(checked: readonly Checked[]): void {
  const faults = checked.filter(({ name, state }) => state === 'fault' && neverWithout.has(name));
  if (faults.length === 0) return;
  throw new StillcountError(
    'work',
    faults.map(({ name, found, toDo }) => ({
      message: `the service cannot start (${name}): ${found}`,
      ...(toDo === null ? {} : { hint: toDo }),
    })),
  );
}

/** Does the same for a single check that runs before anything else. */
export function refuseToStartFor(name: CheckName, finding: Finding): void {
  refuseToStart([{ name, ...finding }]);
}
