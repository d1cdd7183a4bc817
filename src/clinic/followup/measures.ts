import { z } from 'zod';
import { type Entry, judgeEntry } from '../../followup/measureEntry.js';
import type { Measure } from '../../followup/measures.js';
import type { Reading } from '../../followup/typedValue.js';
import { numberText } from '../../followup/units.js';
import { isoDayIn } from '../../schedule/wallClock.js';
import type { Db } from '../../store/engine/openStore.js';
import { saveMeasure, withdrawMeasure } from '../../store/followup/measures.js';
import type { Patient } from '../../store/people/patients.js';
import type { Words } from '../../text/words.js';
import { type Actor, auditActor, clinicDayOf, requireMayWrite } from '../actor.js';
import { lockOwnChart } from '../people/openRecord.js';
import { type Refused, refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { parseForm, reasonSchema, text } from '../values.js';
import { type Measured, readPatientMeasures } from './measured.js';

/** Nobody who is measured is older. */
const mostYears = 120;

export const measureEntrySchema = z.strictObject({
  /** Made up by the page, so that sending it twice keeps one value. */
  entryId: z.uuid(),
  measureId: z.string().max(100),
  /** As it was typed. */
  value: text(60),
  takenOn: z.iso.date({ error: 'a day such as 2026-11-25' }),
  note: text(300).default(''),
  /** The value, in the unit of the measure, that was asked about and found right; empty when nothing was asked. */
  confirmed: text(60).default(''),
});
export type MeasureEntry = z.infer<typeof measureEntrySchema>;

/** What became of an entry: kept, or asked about first. */
export type Entered =
  | { kind: 'kept' }
  | { kind: 'several'; measure: Measure; readings: readonly Reading[] }
  | { kind: 'unusual'; measure: Measure; value: number; why: 'range' | 'step'; before: number | null };

/**
 * Keeps a value for a patient, or says what has to be asked first. Nothing that was typed is ever changed.
 *
 * @throws Refused for somebody who may only read, or when there is no such person; also for a
 *   value that cannot be, a measure that is not taken, or a day that is yet to come
 */
export async function saveMeasureEntry(
  service: Pick<Resources, 'store' | 'workshop' | 'words'>,
  actor: Actor,
  patientId: string,
  entry: MeasureEntry,
): Promise<Entered> {
  requireMayWrite(actor);
  return service.store.write(async (db) => {
    const taking = await lockAndReadMeasures(db, service, actor, { patientId, takenOn: entry.takenOn });
    const judged = checkTypedValue(taking, entry);
    if (judged.kind !== 'right') return judged;
    await saveTakenValue(db, actor, { patientId, entry, value: judged.value });
    return { kind: 'kept' };
  });
}

/** What is measured of a patient on a day, as it stands before a value is taken. */
export type Taking = { measured: readonly Measured[]; takenOn: string; words: Words };

/** Locks the patient and reads what is measured, once for every value of a form. */
export async function lockAndReadMeasures(
  db: Db,
  service: Pick<Resources, 'workshop' | 'words'>,
  actor: Actor,
  { patientId, takenOn }: { patientId: string; takenOn: string },
): Promise<Taking> {
  const { words } = service;
  const { patient } = await lockOwnChart(db, actor, patientId);
  requireDay(takenOn, { patient, actor });
  const measured = await readPatientMeasures(db, service, { clinicId: actor.clinician.clinicId, patient });
  return { measured, takenOn, words };
}

/**
 * The value that was typed, or what has to be asked first.
 *
 * @throws Refused for a value that cannot be, and a measure that is not taken
 */
export function checkTypedValue(
  { measured, takenOn, words }: Taking,
  { entryId, measureId, value: typed, confirmed }: MeasureEntry,
): Exclude<Entered, { kind: 'kept' }> | { kind: 'right'; value: number } {
  const found = measured.find(({ measure, isOpen }) => isOpen && measure.id === measureId);
  if (found === undefined) throw refused('measure-missing', { field: 'measureId' });
  const { measure, standing } = found;
  const before = standing.findLast((each) => each.takenOn <= takenOn && each.id !== entryId)?.value ?? null;
  const judged = judgeEntry(measure, typed, before);
  if (judged.kind === 'refused') throw refusedValue(judged, { measure, typed, words });
  if (judged.kind === 'several') return { kind: 'several', measure, readings: judged.readings };
  const { value } = judged;
  if (judged.kind === 'unusual' && confirmed !== String(value)) {
    return { kind: 'unusual', measure, value, why: judged.why, before };
  }
  return { kind: 'right', value };
}

/** Keeps a value that was found right, once for its entry. */
export async function saveTakenValue(
  db: Db,
  actor: Actor,
  { patientId, entry, value }: { patientId: string; entry: MeasureEntry; value: number },
): Promise<void> {
  const { entryId: id, measureId, takenOn } = entry;
  const kept = await saveMeasure(db, {
    ...{ id, patientId, measureId, value, entered: entry.value.trim(), takenOn, note: entry.note },
    ...{ clinicianId: actor.clinician.id, nowMs: actor.nowMs },
  });
  if (kept.isNew) await auditActor(db, actor, { patientId, subject: kept.id, action: 'measure-entered' });
}

/**
 * Strikes a value out; it stays in the record with the reason.
 *
 * @throws Refused as {@link saveMeasureEntry}, or when there is no such value that stands; also
 *   without a reason
 */
export async function withdrawValue(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  patientId: string,
  { id, reason }: { id: string; reason: string },
): Promise<void> {
  requireMayWrite(actor);
  parseForm(z.object({ reason: reasonSchema }), { reason });
  await store.write(async (db) => {
    await lockOwnChart(db, actor, patientId);
    const withdrawn = { id, reason, clinicianId: actor.clinician.id, nowMs: actor.nowMs };
    if (!(await withdrawMeasure(db, patientId, withdrawn))) throw refused('no-such-value');
    await auditActor(db, actor, { patientId, subject: id, action: 'measure-withdrawn' });
  });
}

function requireDay(takenOn: string, { patient, actor }: { patient: Patient; actor: Actor }): void {
  // It may be tomorrow already where the clinic is, or where the patient is.
  const today = [clinicDayOf(actor), isoDayIn(actor.nowMs, patient.zone)].sort().at(-1) ?? '';
  if (takenOn > today) throw refused('day-ahead', { field: 'takenOn', found: takenOn });
  const firstYear = patient.birthYear ?? Number(today.slice(0, 4)) - mostYears;
  if (Number(takenOn.slice(0, 4)) < firstYear) {
    throw refused('day-before-birth', { field: 'takenOn', found: takenOn });
  }
}

function refusedValue(
  { why }: Extract<Entry, { kind: 'refused' }>,
  { measure, typed, words }: { measure: Measure; typed: string; words: Words },
): Refused {
  const { plausible, unit, otherUnits } = measure;
  const units = [unit === '' ? words.measuring.plainNumber : unit, ...otherUnits].join(', ');
  const range = `${numberText(plausible.least, 2)}\u2013${numberText(plausible.most, 2)} ${unit}`.trim();
  if (why === 'empty') return refused('value-missing', { field: 'value' });
  const allowed = why === 'not-plausible' || why === 'not-whole' ? range : units;
  return refused(why === 'not-a-number' ? 'value-not-a-number' : why, {
    field: 'value',
    found: typed,
    allowed,
  });
}
