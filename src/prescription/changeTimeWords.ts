import { type ChangeTimes, changeTimesSchema } from '../program/schema.js';
import { secondsInWords } from './doseWords.js';

/** Times for position changes in the order of the program file. */
export const changeTimeKeys = changeTimesSchema.keyof().options;

/** The name of each time. */
export const changeTimeNames = {
  lyingDownSeconds: 'lying down from standing',
  sittingUpSeconds: 'sitting up from lying on the side',
  rollingSeconds: 'rolling from the back onto the side',
  placingSeconds: 'placing or removing a towel, pillow or roll',
  movingLegsSeconds: 'bending, straightening or changing legs',
} as const satisfies Record<keyof ChangeTimes, string>;

/**
 * Puts the times into words, for example "lying down from standing 40 s; sitting up from lying on the side 20 s; …".
 */
export function changeTimesInWords(times: ChangeTimes): string {
  return changeTimeKeys.map((key) => `${changeTimeNames[key]} ${secondsInWords(times[key])}`).join('; ');
}
