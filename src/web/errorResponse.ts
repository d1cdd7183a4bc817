import { StillcountError } from '../errors/stillcountError.js';
import type { Log } from './log.js';
import { Refusal } from './refusals.js';

/** How a visitor or another program is answered when something did not work. */
export type ErrorResponse = { status: number; heading: string; problems: readonly object[] };

/** Puts an error into words; what should not have happened is logged, without anything about a person. */
export function errorResponse(error: unknown, log: Log): ErrorResponse {
  const answer = wordsFor(error);
  if (answer.status >= 500) {
    log({ event: 'failure', ...traceOf(error), status: answer.status });
  }
  return answer;
}

/** Where it happened, without the message, which may hold anything. */
function traceOf(error: unknown): { name: string; at: string } {
  if (!(error instanceof Error)) return { name: 'thrown', at: '' };
  const frames = (error.stack ?? '').split('\n').filter((line) => /^\s+at /.test(line));
  return {
    name: error.name,
    at: frames
      .slice(0, 5)
      .map((line) => line.trim())
      .join(' < '),
  };
}

function wordsFor(error: unknown): ErrorResponse {
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
    problems: [{ message: 'The last step may not have been kept. Please look before you try again.' }],
  };
}
