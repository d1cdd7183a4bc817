import type { Timetable } from '../../../prescription/content.js';
import type { PrescriptionState } from '../../../store/schema/prescribingSchema.js';
import { dateInWords } from '../../../text/dates.js';

/**
 * Why an active program waits for its clinician: its review date has come, or its last day has passed. Null for
 * neither.
 *
 * @param today ISO date, in the patient's zone
 */
export function dueView(
  timetable: Pick<Timetable, 'reviewOn' | 'endsOn'> | null,
  { state }: { state: PrescriptionState },
  today: string,
): object | null {
  if (timetable === null || state !== 'active') return null;
  const { reviewOn, endsOn } = timetable;
  const toReviewSince = reviewOn !== null && reviewOn <= today ? dateInWords(reviewOn) : null;
  const overSince = endsOn !== null && endsOn < today ? dateInWords(endsOn) : null;
  return toReviewSince === null && overSince === null ? null : { toReviewSince, overSince };
}
