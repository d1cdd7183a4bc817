import { StillcountError } from '../errors/stillcountError.js';

/**
 * What is wrong with an encoder. `silent`: it did not answer in time, and would not answer the next caller either.
 * `refused`: it exited by itself, and its input may be at fault. `unusable`: it is missing, or something else killed
 * it.
 */
export type EncoderFaultKind = 'silent' | 'refused' | 'unusable';

/** The cause of an error: the encoder failed. */
export class EncoderFault extends Error {
  constructor(readonly kind: EncoderFaultKind) {
    super(`the encoder failed: ${kind}`);
    this.name = 'EncoderFault';
  }
}

/** Returns whether work failed because of the encoder, with the given kind of fault if there is one. */
export function isEncoderFault(error: unknown, kind?: EncoderFaultKind): error is StillcountError {
  if (!(error instanceof StillcountError && error.cause instanceof EncoderFault)) return false;
  return kind === undefined || error.cause.kind === kind;
}
