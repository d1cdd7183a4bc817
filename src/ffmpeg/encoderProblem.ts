import { type StillcountError, workError } from '../errors/stillcountError.js';
import { type GroupOutcome, lastLines } from '../programs/runInGroup.js';
import { EncoderFault, type EncoderFaultKind } from './encoderFault.js';

/** The setting that chooses the encoder. */
export const encoderSetting = 'STILLCOUNT_FFMPEG';

type Failed = Exclude<GroupOutcome, { kind: 'done' }>;

/** Describes a failed run of the encoder, as the end of a sentence that begins with its name. */
export function faultInWords(outcome: Failed, silentMs: number): string {
  switch (outcome.kind) {
    case 'no-answer':
      return `did not answer within ${silentMs / 1000} s and was ended`;
    case 'exit':
      return `ended with exit code ${outcome.code}`;
    case 'signal':
      return `was ended by ${outcome.signal}`;
    case 'too-much':
      return 'wrote without end and was ended';
    case 'not-started':
      return `could not be started (${outcome.code ?? 'no reason given'})`;
  }
}

/** Returns the encoder's last lines, to help find the cause; undefined when it wrote nothing. */
export function encoderMessage({ log }: { log: string }): string | undefined {
  const lines = lastLines(log, 3);
  return lines === '' ? undefined : `it said: ${lines}`;
}

function faultKindOf({ kind }: Failed): EncoderFaultKind {
  if (kind === 'no-answer') return 'silent';
  return kind === 'exit' ? 'refused' : 'unusable';
}

/**
 * Returns the error for a failed run: kind `work`, with the encoder, its last lines and the setting that chooses it.
 */
export function encoderProblem(path: string, outcome: Failed, silentMs: number): StillcountError {
  const found = encoderMessage(outcome);
  return workError(
    {
      message: `the encoder ${path} ${faultInWords(outcome, silentMs)}`,
      ...(found === undefined ? {} : { found }),
      hint: `try again; if this keeps happening, install another ffmpeg or name one in ${encoderSetting}`,
    },
    new EncoderFault(faultKindOf(outcome)),
  );
}
