import { screeningOf } from '../../../clinic/screening/screening.js';
import { isoDayIn } from '../../../schedule/wallClock.js';
import type { Db } from '../../../store/engine/openStore.js';
import { breaksOf, type CareBreak, type Patient } from '../../../store/people/chart.js';
import { dateInWords } from '../../../text/dates.js';
import type { Words } from '../../../text/words.js';
import type { HttpResources } from '../../server/resources.js';

/** The number of past breaks shown. */
const mostPast = 3;

/** Whether a patient's programs are paused for a break, and whether a hospital stay calls for re-screening first. */
export async function restView(
  { store, words }: Pick<HttpResources, 'store' | 'words'>,
  patient: Patient,
  nowMs: number,
): Promise<object> {
  const today = isoDayIn(nowMs, patient.zone);
  const breaks = await store.read((db) => breaksOf(db, patient.id));
  const resting = breaks.filter((each) => isNow(each, today));
  return {
    isResting: resting.length > 0,
    rests: resting.map((each) => breakView(each, words, today)),
    afterHospital: await store.read((db) => afterHospital(db, patient, breaks)),
  };
}

/** A patient's breaks: current and future ones, then the most recent past ones. */
export async function breaksView(
  { store, words }: Pick<HttpResources, 'store' | 'words'>,
  patient: Patient,
  nowMs: number,
): Promise<object> {
  const today = isoDayIn(nowMs, patient.zone);
  const breaks = await store.read((db) => breaksOf(db, patient.id));
  const isOver = ({ untilDay }: CareBreak) => untilDay !== null && untilDay < today;
  const view = (each: CareBreak) => breakView(each, words, today);
  const past = breaks.filter(isOver).reverse().slice(0, mostPast).map(view);
  const standing = breaks.filter((each) => !isOver(each)).map(view);
  return {
    breaks: standing,
    hasBreaks: standing.length > 0,
    pastBreaks: past,
    hasPastBreaks: past.length > 0,
  };
}

function breakView(each: CareBreak, words: Words, today: string): object {
  const { id, kind, fromDay, untilDay, note } = each;
  return {
    id,
    why: words.breakKinds[kind],
    from: dateInWords(fromDay),
    until: untilDay === null ? null : dateInWords(untilDay),
    isHospital: kind === 'hospital',
    isOneDay: fromDay === untilDay,
    isNow: isNow(each, today),
    note,
    fromDay,
    lastDay: untilDay ?? (fromDay > today ? fromDay : today),
  };
}

function isNow({ fromDay, untilDay }: CareBreak, today: string): boolean {
  return fromDay <= today && (untilDay === null || today <= untilDay);
}

/** A stay that is over, or about to be, since which precautions have not been asked again. */
async function afterHospital(db: Db, { id }: Patient, breaks: readonly CareBreak[]): Promise<object | null> {
  const last = breaks.findLast(({ kind, untilDay }) => kind === 'hospital' && untilDay !== null);
  if (last === undefined || last.untilDay === null) return null;
  const screening = await screeningOf(db, id);
  // It was stored as a new row when it was ended.
  const isAsked = screening !== null && screening.oldestAtMs >= last.createdAtMs;
  return isAsked ? null : { until: dateInWords(last.untilDay) };
}
