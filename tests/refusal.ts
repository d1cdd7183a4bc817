import { type Problem, StillcountError } from '../src/errors/stillcountError.js';

/** The message with which something is refused as wrong input or failed work; anything else fails the test. */
export function refusalOf(parse: () => unknown): string {
  try {
    parse();
  } catch (error) {
    if (error instanceof StillcountError) return error.message;
    throw error;
  }
  throw new Error('it was accepted');
}

/** The problems of what is refused, part by part. */
export function problemsOf(parse: () => unknown): readonly Problem[] {
  try {
    parse();
  } catch (error) {
    if (error instanceof StillcountError) return error.problems;
    throw error;
  }
  throw new Error('it was accepted');
}
