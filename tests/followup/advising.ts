import { adviceFor } from '../../src/followup/advice.js';
import type { ProgramAdvice } from '../../src/followup/adviceParts.js';
import type { Outcome } from '../../src/followup/history.js';
import type { CheckInAnswers } from '../../src/listening/report.js';
import { days, easy, history, progression, session } from './histories.js';

/** What is advised on the one program of a history. */
export const advised = (...given: Parameters<typeof history>): ProgramAdvice => {
  const [advice] = adviceFor(history(...given), progression);
  if (advice === undefined) throw new RangeError('one program runs');
  return advice;
};
/** What is said about each exercise. */
export const said = ({ exercises }: ProgramAdvice) => exercises.map(({ kind, why }) => `${kind}: ${why}`);
export const sessions = (from: number, until: number, answers: CheckInAnswers | null = easy): Outcome[] =>
  days(from, until).map((day) => session(day, answers));
export const condition = ({ exercises, whole }: ProgramAdvice, id: string) =>
  [...whole.conditions, ...(exercises[0]?.conditions ?? [])].find((each) => each.id === id);
