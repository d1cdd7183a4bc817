import { StillcountError } from '../errors/stillcountError.js';

/** The cause of an error: the encoder could not be used, failed, or did not answer. */
export class EncoderFault extends Error {
  /** @param isSilent whether it did not answer in time: it would fail alike for whoever asks next */
  constructor(readonly isSilent: boolean) {
    super(isSilent ? 'no answer in time' : 'the encoder failed');
    this.name = 'EncoderFault';
  }
}

/** Whether work failed because of the encoder. */
export function isEncoderFault(error: unknown): error is StillcountError {
  return error instanceof StillcountError && error.cause instanceof EncoderFault;
}

/** Whether work failed because the encoder did not answer in time. */
export function isNoAnswer(error: unknown): boolean {
  return error instanceof StillcountError && error.cause instanceof EncoderFault && error.cause.isSilent;
}
