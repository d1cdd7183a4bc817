import { randomUUID } from 'node:crypto';
import { isDeepStrictEqual } from 'node:util';
import { z } from 'zod';
import { type Content, clinicCatalogue, settlementsOf } from '../../prescription/programFindings.js';
import { placeToAdd } from '../../program/path.js';
import { addDays } from '../../schedule/wallClock.js';
import type { Db, Store } from '../../store/engine/openStore.js';
import { type Patient, versionsOf } from '../../store/people/chart.js';
import {
  deleteDraft,
  draftAt,
  draftPlace,
  findPrescriptionOfWork,
  writeDraft,
} from '../../store/prescribing/prescriptions.js';
import { type Actor, clinicDayOf, requireMayWrite } from '../actor.js';
import {
  type Chart,
  openChart,
  readPatient,
  readPatientDuringWork,
  readPrescriptionDuringWork,
  readPrescriptionOf,
} from '../people/chart.js';
import { refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { easierAtFirst, starterContent } from './starters.js';

/** Whose program is being edited; `prescriptionId` is null for a new one. */
export type Subject = { patient: Patient; prescriptionId: string | null };
/** The content being edited. `basedOn` is the version it started from, 0 for a new prescription. */
export type Work = Subject & {
  basedOn: number;
  content: Content;
  /** Identifies a new program, so that sending it twice signs it once; null for a next version. */
  workId: string | null;
};

/** A draft with the record of its patient. */
export type OpenWork = { chart: Chart; work: Work };

/** What a page edits: a new program for a patient, or the next version of a program, by either id. */
export type WorkTarget = { id: string; isNew: boolean };

const mostContentCharacters = 200_000;

/**
 * Opens the page: where she left off, else the newest version, else an empty program with the patient's name.
 *
 * @throws Refused for a read-only member, or if the clinic has no such patient or prescription; StillcountError kind
 *   `input` for a program whose record is damaged
 */
export async function openDraft(
  service: Pick<Resources, 'store'>,
  actor: Actor,
  target: WorkTarget,
): Promise<OpenWork> {
  const { store } = service;
  const subject = await subjectOf(service, actor, target, true);
  const chart = openChart(store, actor.clinician.clinicId, subject.patient);
  return { chart, work: await beganWith(store, actor, chart, { subject, isNew: target.isNew }) };
}

async function beganWith(
  store: Pick<Store, 'read'>,
  actor: Actor,
  chart: Chart,
  { subject, isNew }: { subject: Subject; isNew: boolean },
): Promise<Work> {
  const workId = isNew ? randomUUID() : null;
  const draft = await store.read((db) => draftAt(db, draftPlace(actor.clinician.id, subject)));
  if (draft !== null) {
    return { ...subject, workId, basedOn: draft.basedOnNumber, content: JSON.parse(draft.content) };
  }
  const { prescriptionId, patient } = subject;
  const versions = prescriptionId === null ? [] : await chart.versions(prescriptionId);
  const [newest] = versions;
  // Every program has a version; without one, a new start must not replace what was signed.
  if (prescriptionId !== null && newest === undefined) throw refused('record-damaged');
  if (newest?.damage === 'program') throw refused('record-damaged');
  // Nothing is taken from a damaged version: the page says so, and she starts from the last intact one.
  const whole = versions.find(({ content }) => content !== null);
  if (newest !== undefined && whole?.content != null) {
    return { ...subject, workId, basedOn: newest.number, content: JSON.parse(whole.content) };
  }
  const program = { format: 'stillcount-program/1', title: 'Home program', listener: listenerOf(patient) };
  const format = 'stillcount-prescription/1';
  return {
    ...subject,
    workId,
    basedOn: newest?.number ?? 0,
    content: {
      ...{ format, timesADay: 1, daysAWeek: 7, ...firstReview(actor, isNew), easier: easierAtFirst },
      program: { ...program, exercises: [] },
    },
  };
}

/** A new program is due for review after four weeks unless she says otherwise. Our choice; no source. */
const firstReviewAfterDays = 28;

function firstReview(actor: Actor, isNew: boolean): { reviewOn?: string } {
  return isNew ? { reviewOn: addDays(clinicDayOf(actor), firstReviewAfterDays) } : {};
}

/** The current draft; with `starterId` it starts over from that program. */
export type DraftChange = { basedOn: number; workId: string } & (
  | { content: Content }
  | { starterId: string }
);

/**
 * Saves a draft.
 *
 * @throws Refused as for {@link openDraft}; also for a starter that does not exist, or if the draft is too large
 */
export async function saveDraft(
  service: Pick<Resources, 'store' | 'workshop'>,
  actor: Actor,
  target: WorkTarget,
  change: DraftChange,
): Promise<OpenWork> {
  const { isNew } = target;
  const { basedOn } = change;
  const subject = await subjectOf(service, actor, target, false);
  const content =
    'content' in change
      ? change.content
      : await begunWith(service, actor, { subject, isNew, starterId: change.starterId });
  const text = JSON.stringify(content);
  if (text.length > mostContentCharacters) {
    throw refused('program-too-large', { allowed: `${mostContentCharacters} characters` });
  }
  const named = z.uuid().safeParse(change.workId);
  const workId = isNew ? (named.success ? named.data : randomUUID()) : null;
  // Converted to text and back, so that what is shown is what is stored.
  const work: Work = { ...subject, workId, basedOn, content: JSON.parse(text) };
  const place = draftPlace(actor.clinician.id, subject);
  await service.store.write(async (db) => {
    // Content identical to the signed version is not a draft, even if a page that was just left still sends it.
    if (await isSigned(db, work)) return deleteDraft(db, place);
    return writeDraft(db, place, { content: text, basedOnNumber: basedOn, updatedAtMs: actor.nowMs });
  });
  return { chart: openChart(service.store, actor.clinician.clinicId, subject.patient), work };
}

async function begunWith(
  service: Pick<Resources, 'store' | 'workshop'>,
  actor: Actor,
  { subject, isNew, starterId }: { subject: Subject; isNew: boolean; starterId: string },
): Promise<Content> {
  const starter = { id: starterId, clinicId: actor.clinician.clinicId };
  const content = await starterContent(service, starter, listenerOf(subject.patient));
  return { ...content, ...firstReview(actor, isNew) };
}

/**
 * Where an exercise is inserted: before getting out of bed, and so on; exercises that the catalogue does not know go
 * last, and the page says so.
 */
export function buildInsertionOrder({
  workshop,
}: Pick<Resources, 'workshop'>): (added: string, ids: readonly string[]) => number {
  const { exercises } = clinicCatalogue(workshop);
  return (added, ids) => {
    const known = exercises.get(added);
    return known === undefined
      ? ids.length
      : placeToAdd(
          ids.map((id) => exercises.get(id)),
          known,
        );
  };
}

/** The newest version of the program being edited, if it is damaged, and the last intact one. */
export async function findDamagedNewest(
  chart: Chart,
  { prescriptionId }: Subject,
): Promise<{ number: number; whole: number | null } | null> {
  const versions = prescriptionId === null ? [] : await chart.versions(prescriptionId);
  const [newest] = versions;
  if (newest === undefined || newest.content !== null) return null;
  const whole = versions.find(({ content }) => content !== null);
  return { number: newest.number, whole: whole?.number ?? null };
}

/** Whether the newest version of the program being edited has the same content. */
async function isSigned(db: Db, { prescriptionId, workId, patient, content }: Work): Promise<boolean> {
  const id = prescriptionId ?? (await findPrescriptionOfWork(db, workId, patient.id));
  const [newest] = id === null ? [] : await versionsOf(db, id);
  if (newest?.content == null) return false;
  const signed: Content = JSON.parse(newest.content);
  return isDeepStrictEqual(asWritten(signed), asWritten(content));
}

/** Content as the form has it: signing adds each rule to its resolution. */
function asWritten(content: Content): object {
  const settlements = Object.entries(settlementsOf(content)).map(([id, { rule: _rule, ...own }]) => [
    id,
    own,
  ]);
  return { ...content, settlements: Object.fromEntries(settlements) };
}

/** Discards a draft. @throws Refused as for {@link openDraft} */
export async function discardDraft(
  service: Pick<Resources, 'store'>,
  actor: Actor,
  target: WorkTarget,
): Promise<Subject> {
  const subject = await subjectOf(service, actor, target, false);
  await service.store.write((db) => deleteDraft(db, draftPlace(actor.clinician.id, subject)));
  return subject;
}

/** @param opens whether the page is being opened, which is logged, or already being worked on */
async function subjectOf(
  service: Pick<Resources, 'store'>,
  actor: Actor,
  { id, isNew }: WorkTarget,
  opens: boolean,
): Promise<Subject> {
  requireMayWrite(actor);
  if (isNew) {
    const find = opens ? readPatient : readPatientDuringWork;
    return { patient: await find(service, actor, id), prescriptionId: null };
  }
  const find = opens ? readPrescriptionOf : readPrescriptionDuringWork;
  const { prescription, patient } = await find(service, actor, id);
  if (prescription.state === 'ended') {
    throw refused('program-ended');
  }
  return { patient, prescriptionId: prescription.id };
}

/** Undefined for a patient who is not to be addressed by name. */
function listenerOf({ spokenName, sayAs }: Patient): object | undefined {
  return spokenName === '' ? undefined : { name: spokenName, ...(sayAs === '' ? {} : { sayAs }) };
}
