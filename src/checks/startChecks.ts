import { StillcountError } from '../errors/stillcountError.js';
import type { Checked, CheckName, Finding } from './check.js';

/** Nothing that a service did would be right without these. */
const neverWithout: ReadonlySet<CheckName> = new Set(['clock', 'database', 'schema']);

/**
 * Refuses to start where nothing that the service did would be right. All else that is at fault it tells once it runs:
 * who cannot sign in cannot read of warning signs either.
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

/** The same for a single thing that is looked at before anything else is done. */
export function refuseToStartFor(name: CheckName, finding: Finding): void {
  refuseToStart([{ name, ...finding }]);
}
