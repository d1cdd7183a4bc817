import { setTimeout as after } from 'node:timers/promises';
import { StillcountError } from '../errors/stillcountError.js';

/** The checks that run before a service is relied on. */
export type CheckName =
  | 'encoder'
  | 'voice'
  | 'disk'
  | 'clock'
  | 'time zones'
  | 'database'
  | 'schema'
  | 'channels'
  | 'backup folder'
  | 'database file'
  | 'signed'
  | 'backup'
  | 'session'
  | 'test mail'
  | 'restore';

type CheckState = 'ok' | 'warning' | 'fault';

/** The result of one check, without names of people and without secrets. */
export type Checked = {
  name: CheckName;
  state: CheckState;
  /** One sentence. */
  found: string;
  /** What to do about it; null if there is nothing to do. */
  toDo: string | null;
};

export type Finding = Omit<Checked, 'name'>;
export type Check = { name: CheckName; look: () => Promise<Finding> };

export const ok = (found: string): Finding => ({ state: 'ok', found, toDo: null });
export const warning = (found: string, toDo: string): Finding => ({ state: 'warning', found, toDo });
export const fault = (found: string, toDo: string): Finding => ({ state: 'fault', found, toDo });

/**
 * Runs several checks at once. It never rejects: a check that fails is a fault, and one that takes too long a warning.
 *
 * @param deadlineMs how long each check may take
 * @param onLooked called with how long each check took
 */
export function runChecks(
  checks: readonly Check[],
  deadlineMs: number,
  onLooked: (name: CheckName, ms: number) => void = () => undefined,
): Promise<Checked[]> {
  const startedAt = performance.now();
  return Promise.all(
    checks.map(async ({ name, look }): Promise<Checked> => {
      const finding = await inTime(look, deadlineMs);
      onLooked(name, performance.now() - startedAt);
      return { name, ...finding };
    }),
  );
}

async function inTime(look: () => Promise<Finding>, deadlineMs: number): Promise<Finding> {
  const waiting = new AbortController();
  const tooLate = after(deadlineMs, null, { signal: waiting.signal }).then(
    () => warning(`no answer in ${deadlineMs / 1000} s`, 'run "stillcount doctor", which waits longer'),
    () => warning('not waited for', 'run "stillcount doctor"'),
  );
  try {
    return await Promise.race([look().catch(failed), tooLate]);
  } finally {
    waiting.abort();
  }
}

function failed(error: unknown): Finding {
  if (!(error instanceof StillcountError)) {
    return fault(
      error instanceof Error ? error.name : 'it failed',
      'run "stillcount doctor" and read the log',
    );
  }
  const [problem] = error.problems;
  const toDo = problem?.hint ?? (problem?.allowed === undefined ? null : `use ${problem.allowed}`);
  const place = problem?.file === undefined || problem.file === 'environment' ? '' : `${problem.file}: `;
  const found = problem?.found === undefined ? '' : ` (${problem.found})`;
  return fault(
    `${place}${(problem?.message ?? error.name).replace(/[.]$/, '')}${found}`,
    toDo?.replace(/[.]$/, '') ?? 'fix it and start again',
  );
}

/** The length of the longest name: `database file`. */
const nameWidth = 13;
const marks = { ok: 'ok', warning: 'WARNING', fault: 'FAULT' } as const;

/** Returns one line for each check, with what to do. */
export function checkLines(checked: readonly Checked[]): string[] {
  return checked.map(({ name, state, found, toDo }) => {
    const end = toDo === null ? '' : ` To do: ${toDo}.`;
    return `${marks[state].padEnd(8)} ${name.padEnd(nameWidth)} ${found}.${end}`;
  });
}
