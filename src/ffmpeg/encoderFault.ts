import { StillcountError } from '../errors/stillcountError.js';

/**
 * What is wrong with an encoder. `silent`: it did not answer in time, and would not answer whoever asks next.
 * `refused`: it ended by itself, and what it was given may be at fault. `unusable`: it is not there, or was ended by
 * others.
 */
export type EncoderFaultKind = 'silent' | 'refused' | 'unusable';

/** The cause of an error: the encoder failed. */
export class EncoderFault extends Error {
  constructor(readonly kind: EncoderFaultKind) {
    super(`the encoder failed: ${kind}`);
    this.name = 'EncoderFault';
  }
}

/** Whether work failed because of the encoder, and in this way if one is named. */
export function isEncoderFault(error: unknown, kind?: EncoderFaultKind): error is StillcountError {
  if (!(error instanceof StillcountError && error.cause instanceof EncoderFault)) return false;
  return kind === undefined || error.cause.kind === kind;
}
