import { StillcountError } from '../src/errors/stillcountError.js';

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
