import { StillcountError } from '../errors/stillcountError.js';
import type { Log } from './log.js';
import { Refusal } from './refusals.js';

/** What a visitor or another program is told when something did not work. */
export type Told = { status: number; heading: string; problems: readonly object[] };

/** Puts an error into words; what should not have happened is logged, without anything about a person. */
export function toldOf(error: unknown, log: Log): Told {
  const told = wordsFor(error);
  if (told.status >= 500) {
    log({ event: 'failure', name: error instanceof Error ? error.name : 'thrown', status: told.status });
  }
  return told;
}

function wordsFor(error: unknown): Told {
  if (error instanceof Refusal) return { status: error.status, heading: error.message, problems: [] };
  if (error instanceof StillcountError) {
    const heading = error.kind === 'input' ? 'This cannot be done like that' : 'This did not work just now';
    const problems = error.problems.map(({ file: _file, ...problem }) => problem);
    return { status: error.kind === 'input' ? 400 : 503, heading, problems };
  }
  const status =
    typeof error === 'object' && error !== null && 'status' in error ? Number(error.status) : 500;
  if (status >= 400 && status < 500) {
    return { status, heading: 'This request cannot be read', problems: [] };
  }
  return {
    status: 500,
    heading: 'Something went wrong that should not have',
    problems: [{ message: 'Nothing was changed by the last step. Please try again.' }],
  };
}
