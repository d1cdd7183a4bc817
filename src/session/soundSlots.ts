import { isEncoderFault } from '../ffmpeg/encoderFault.js';
import { FairSlots, type SlotLimits } from './fairSlots.js';

/** A phone requests its files one after the other; a person's few devices may do so at the same time. */
const mostWaiting = 8;

/**
 * Opens the slots in which a service makes sound. A single session already uses every processor; the second slot keeps
 * anyone from waiting for another clinic's long session. If the encoder does not answer, everyone waiting in that lane
 * gets the error at once, instead of one after the other, because it would not answer them either.
 *
 * @param reports callbacks for the result of each piece of work, and the error for a caller with too much work waiting
 */
export function openSoundSlots(reports: Pick<SlotLimits, 'onDone' | 'onFailed' | 'tooMuch'>): FairSlots {
  return new FairSlots({ atOnce: 2, slowMs: 15_000, mostSlow: 8, mostWaiting, endsLane, ...reports });
}

function endsLane(error: unknown): boolean {
  return isEncoderFault(error, 'silent');
}
