import type { Response } from 'express';
import { Refusal } from '../../clinic/refusals.js';
import { StillcountError } from '../../errors/stillcountError.js';
import { requestIdOf } from './logRequests.js';
import type { HttpResources } from './resources.js';

/** How a visitor or another program is answered when something did not work. */
export type ErrorResponse = {
  status: number;
  heading: string;
  problems: readonly object[];
  /** By which what should not have happened is found in the log; null for everything else. */
  requestId: string | null;
};

/**
 * Puts an error into words; what should not have happened is logged and kept for the owners, without anything about a
 * person.
 */
export function errorResponse(
  error: unknown,
  { incidents }: Pick<HttpResources, 'incidents'>,
  response: Response,
): ErrorResponse {
  const answer = wordsFor(error);
  // A limit that was reached is no fault of the service.
  if (answer.status < 500 || error instanceof Refusal) return { ...answer, requestId: null };
  const requestId = requestIdOf(response);
  incidents.report({ code: 'request-failed', error, requestId });
  return { ...answer, requestId };
}

function wordsFor(error: unknown): Omit<ErrorResponse, 'requestId'> {
  if (error instanceof Refusal) return { status: error.status, heading: error.message, problems: [] };
  if (error instanceof StillcountError) {
    const heading = error.kind === 'input' ? 'This request is not valid' : 'This is not working right now';
    const problems = error.problems.map(({ file: _file, ...problem }) => problem);
    return { status: error.kind === 'input' ? 400 : 503, heading, problems };
  }
  const status =
    typeof error === 'object' && error !== null && 'status' in error ? Number(error.status) : 500;
  if (status >= 400 && status < 500) {
    return { status, heading: 'This request could not be read', problems: [] };
  }
  return {
    status: 500,
    heading: 'Something went wrong',
    problems: [{ message: 'Your last change may not have been saved. Check before you try again.' }],
  };
}
