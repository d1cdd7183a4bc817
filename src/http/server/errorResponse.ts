import type { Response } from 'express';
import { findCorrectableRefusals, Refused } from '../../clinic/refusals.js';
import type { AnswerCode, RefusalKind } from '../../errors/refusalCodes.js';
import { type Problem, StillcountError } from '../../errors/stillcountError.js';
import { sentenceOf } from '../../text/refusalWords.js';
import { requestIdOf } from './logRequests.js';
import { withSentences } from './problems.js';
import type { HttpResources } from './resources.js';

/** The response to a visitor or another program when something failed. */
export type ErrorResponse = {
  status: number;
  /** The code of the first problem, if there are several. */
  code: AnswerCode;
  heading: string;
  problems: readonly (Omit<Problem, 'file' | 'line'> & { code: AnswerCode })[];
  /** The id that finds an unexpected error in the log; null for everything else. */
  requestId: string | null;
};

const statusOf = {
  mend: 400,
  'sign-in': 401,
  'not-allowed': 403,
  'not-there': 404,
  changed: 409,
  wait: 503,
} as const satisfies Record<RefusalKind, number>;

const tooLargeStatus = 413;

/**
 * Turns an error into words; an unexpected one is logged and stored for the owners, without anything about a patient.
 */
export function errorResponse(
  error: unknown,
  { incidents, words }: Pick<HttpResources, 'incidents' | 'words'>,
  response: Response,
): ErrorResponse {
  const answer = wordsFor(error, words);
  // Reaching a limit is not a fault of the service.
  if (answer.status < 500 || error instanceof Refused) return { ...answer, requestId: null };
  const requestId = requestIdOf(response);
  incidents.report({ code: 'request-failed', error, requestId });
  return { ...answer, requestId };
}

function wordsFor(error: unknown, words: HttpResources['words']): Omit<ErrorResponse, 'requestId'> {
  if (error instanceof Refused && error.kind !== 'mend') {
    const [first] = error.refusals;
    const heading = sentenceOf(words.refusals, first);
    return { status: statusOf[error.kind], code: first.code, heading, problems: [] };
  }
  const refusals = findCorrectableRefusals(error);
  if (refusals !== null) {
    const heading = words.notDone;
    const [{ code }] = refusals;
    return { status: statusOf.mend, code, heading, problems: withSentences(refusals, words) };
  }
  if (error instanceof StillcountError) {
    const code = 'failed-for-now';
    const problems = error.problems.map(
      ({ file: _file, line: _line, ...problem }) => ({ code, ...problem }) as const,
    );
    return { status: 503, code, heading: words.refusals[code].says, problems };
  }
  const status =
    typeof error === 'object' && error !== null && 'status' in error ? Number(error.status) : 500;
  if (status >= 400 && status < 500) {
    const code = status === tooLargeStatus ? 'request-too-large' : 'request-not-readable';
    return { status, code, heading: words.refusals[code].says, problems: [] };
  }
  const code = 'failed';
  const { says: heading, hint: message = '' } = words.refusals[code];
  return {
    status: 500,
    code,
    heading,
    problems: [{ code, message }],
  };
}
