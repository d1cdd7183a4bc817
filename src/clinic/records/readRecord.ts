import type { History } from '../../followup/history.js';
import { clinicById } from '../../store/accounts/clinics.js';
import { colleaguesOf } from '../../store/accounts/colleagues.js';
import type { Patient } from '../../store/people/chart.js';
import { readHistory } from '../followup/readHistory.js';
import { openChart } from '../people/chart.js';
import type { NoteResources } from './noteData.js';

/** The resources for exporting a record. */
export type RecordResources = NoteResources;

/** The data that every part of an export needs. */
export type RecordContext = {
  service: RecordResources;
  clinicId: string;
  patient: Patient;
  clinic: Awaited<ReturnType<typeof clinicById>>;
  nowMs: number;
  /** The history so far; computed once, on demand. */
  history: () => Promise<History>;
  /** The names of the clinic's members; the id of an unknown one. */
  nameOf: (clinicianId: string) => string;
};

/** Reads what the parts of a record have in common. */
export async function recordContext(
  service: RecordResources,
  { clinicId, patient, nowMs }: { clinicId: string; patient: Patient; nowMs: number },
): Promise<RecordContext> {
  const { store } = service;
  const clinic = await store.read((db) => clinicById(db, clinicId));
  const names = new Map(
    (await store.read((db) => colleaguesOf(db, clinicId))).map(({ id, name }) => [id, name]),
  );
  let known: Promise<History> | undefined;
  const history = () => {
    known ??= readHistory(service, openChart(store, clinicId, patient));
    return known;
  };
  return { service, clinicId, patient, clinic, nowMs, history, nameOf: (id) => names.get(id) ?? id };
}
