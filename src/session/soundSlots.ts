import { isEncoderFault } from '../ffmpeg/encoderFault.js';
import { FairSlots, type SlotLimits } from './fairSlots.js';

/** A phone asks for what it needs one after the other; a few devices of one person do so at the same time. */
const mostWaiting = 8;

/**
 * The slots in which a service makes sound. One session at a time uses every processor already; the second slot is
 * there so that no one waits for another clinic's long one. An encoder that does not answer answers no one who waits in
 * the same lane: all of them are told at once, instead of one after the other.
 *
 * @param reports what came of each piece of work, and what whoever has too much waiting is told
 */
export function openSoundSlots(reports: Pick<SlotLimits, 'onDone' | 'onFailed' | 'tooMuch'>): FairSlots {
  return new FairSlots({ atOnce: 2, slowMs: 15_000, mostSlow: 8, mostWaiting, endsLane, ...reports });
}

function endsLane(error: unknown): boolean {
  return isEncoderFault(error, 'silent');
}
