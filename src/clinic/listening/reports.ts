import { isMoreUrgent, readSigns, type Urgency, warningUrgency } from '../../followup/warningSigns.js';
import { correctedAtMs, orderReports } from '../../listening/clock.js';
import {
  type ReportAnswer,
  type ReportItem,
  reportItemSchema,
  reportSchema,
} from '../../listening/report.js';
import { notifyOfNote, notifyOfWarning } from '../../reminders/planOthers.js';
import { addAuditEntry } from '../../store/accounts/audit.js';
import { lockPatient, scheduleAdvice, scheduleAfterChange } from '../../store/attention/patientChanged.js';
import type { Db } from '../../store/engine/openStore.js';
import { saveNote } from '../../store/followup/notes.js';
import {
  type Kept,
  listWarnedSigns,
  newestStepsAtMs,
  saveCheckIn,
  saveNotToday,
  saveSteps,
  saveWarning,
} from '../../store/listening/listeningRecords.js';
import { type Prescription, patientById, prescriptionById } from '../../store/people/chart.js';
import { dayMs } from '../../time/units.js';
import type { Resources } from '../resources/resources.js';
import { parseForm } from '../values.js';
import type { Listener } from './listener.js';
import { findNoteSigns } from './noteSigns.js';

/** A report may stay on a phone for a month; a plan covers three days. */
const [oldestSlotMs, newestSlotMs] = [32 * dayMs, 4 * dayMs];

/**
 * Stores what a listener's device reports, each item once and in one transaction, even about a program that was paused
 * or ended in the meantime. Items about a person this link is not for are left unanswered: another link may deliver
 * them.
 *
 * @throws StillcountError kind `input` if it is not a report at all
 */
export async function saveReport(
  {
    store,
    now,
    reminderSecrets,
    workshop,
  }: Pick<Resources, 'store' | 'workshop' | 'reminderSecrets' | 'now'>,
  listener: Listener,
  body: unknown,
): Promise<ReportAnswer> {
  const { sentAtMs, items } = parseForm(reportSchema, Object(body));
  const receivedAtMs = now();
  const answer: ReportAnswer = { keptIds: [], refused: [] };
  const read = items.flatMap((value, index) => {
    const parsed = reportItemSchema.safeParse(value);
    if (parsed.success) return [{ index, item: parsed.data }];
    answer.refused.push({ index, why: parsed.error.issues[0]?.message ?? 'it cannot be read' });
    return [];
  });
  // Sorted, so that two devices with the same items never wait for each other.
  const own = read
    .flatMap(({ index, item }) => {
      const from = listener.patients.find(({ patientId }) => patientId === item.patientId);
      if (from === undefined) return [];
      const atMs = correctedAtMs(item.atMs, sentAtMs, receivedAtMs);
      const context = { linkId: listener.linkId, caregiverId: from.caregiverId, atMs, receivedAtMs };
      return [{ index, item, context }];
    })
    .sort((a, b) => (a.item.id < b.item.id ? -1 : 1));
  const storedIds = new Set<string>();
  await store.write(async (db) => {
    const patientIds = [...new Set(own.map(({ item }) => item.patientId))].sort();
    for (const patientId of patientIds) await lockPatient(db, patientId);
    const wrong = new Map<number, string>();
    const programs = await programsNamed(db, listener, own);
    for (const { index, item } of own) {
      const why = whyNot(item, programs, receivedAtMs);
      if (why !== null) wrong.set(index, why);
    }
    const taken = await keepAll(
      db,
      own.filter(({ index }) => !wrong.has(index)),
      { listener, reminderSecrets, workshop, warnedNow: new Map() },
    );
    for (const { index, item } of own) {
      const why = wrong.get(index) ?? (taken.has(index) ? 'its id is taken' : null);
      if (why === null) storedIds.add(item.id);
      else answer.refused.push({ index, why });
    }
    for (const patientId of patientIds) await scheduleAdvice(db, patientId);
  });
  answer.keptIds = read.map(({ item }) => item.id).filter((id) => storedIds.has(id));
  answer.refused.sort((a, b) => a.index - b.index);
  return answer;
}

/** The clinic's programs that some items name, by id. */
async function programsNamed(
  db: Db,
  { clinicId }: Listener,
  own: readonly Own[],
): Promise<Map<string, Prescription>> {
  const programs = new Map<string, Prescription>();
  for (const id of new Set(own.map(({ item }) => item.prescriptionId))) {
    const program = await prescriptionById(db, clinicId, id);
    if (program !== null) programs.set(id, program);
  }
  return programs;
}

/** Why an item will never be stored, or null. */
function whyNot(
  { patientId, prescriptionId, versionNumber, slot }: ReportItem,
  programs: ReadonlyMap<string, Prescription>,
  receivedAtMs: number,
): string | null {
  const slotMs = Date.parse(slot.slice(0, 10));
  if (slotMs < receivedAtMs - oldestSlotMs || slotMs > receivedAtMs + newestSlotMs) {
    return 'its day is too far away';
  }
  const program = programs.get(prescriptionId);
  const isKnown = program?.patientId === patientId && versionNumber <= program.newestVersion;
  return isKnown ? null : 'there is no such program';
}

type ReportContext = { linkId: string; caregiverId: string | null; atMs: number; receivedAtMs: number };

type Own = { index: number; item: ReportItem; context: ReportContext };

/**
 * Groups steps, so that each session is summed up once; everything else is stored one by one.
 *
 * @returns the indexes of items whose id belongs to another report
 */
async function keepAll(db: Db, own: readonly Own[], from: From): Promise<Set<number>> {
  const steps = await stepsOf(db, own, from.listener.linkId);
  const results = await saveSteps(
    db,
    steps.map(({ row }) => row),
  );
  const taken = new Set(steps.flatMap(({ index }, place) => (results[place] === 'foreign' ? [index] : [])));
  // Warnings first: what arrives with one in the same report is sent with it.
  const [warnings, others] = [true, false].map((isWarning) =>
    own.filter(({ item }) => (item.kind === 'warning') === isWarning),
  );
  for (const { index, item, context } of [...(warnings ?? []), ...(others ?? [])]) {
    if (item.kind !== 'step' && (await keep(db, item, context, from)) === 'foreign') taken.add(index);
  }
  return taken;
}

/** The steps of a report, with times that keep their order. */
async function stepsOf(db: Db, own: readonly Own[], linkId: string) {
  const asTold = own
    .flatMap(({ index, item, context }) => {
      if (item.kind !== 'step') return [];
      const { kind: _kind, ...step } = item;
      return [{ index, row: { ...step, ...context, choice: step.choice ?? null } }];
    })
    .sort((a, b) => a.index - b.index);
  const listeningIds = [...new Set(asTold.map(({ row }) => row.listeningId))];
  const events = asTold.map(({ row }) => ({ about: row.listeningId, atMs: row.atMs }));
  const momentsMs = orderReports(events, await newestStepsAtMs(db, linkId, listeningIds));
  return asTold
    .map(({ index, row }, place) => ({ index, row: { ...row, atMs: momentsMs[place] ?? row.atMs } }))
    .sort((a, b) => (a.row.id < b.row.id ? -1 : 1));
}

async function keep(
  db: Db,
  item: Exclude<ReportItem, { kind: 'step' }>,
  context: ReportContext,
  from: From,
): Promise<Kept> {
  switch (item.kind) {
    case 'not-today': {
      const { kind: _kind, ...putOff } = item;
      return saveNotToday(db, { ...putOff, ...context });
    }
    case 'check-in': {
      const { kind: _kind, answers, choice = null, ...checkIn } = item;
      const result = await saveCheckIn(db, {
        ...checkIn,
        ...context,
        choice,
        answers: JSON.stringify(answers),
      });
      const { signs } = answers;
      // Rule WARN-4: a checked sign is a warning, whether or not the phone also reported it as one.
      if (result === 'new' && signs != null && signs.length > 0) {
        if (!(await haveAllWarned(db, item, signs)))
          await warn(db, { ...checkIn, ...context, positionMs: null, signs }, from);
      }
      if (result === 'new') await keepItsNote(db, item, context, from);
      return result;
    }
    case 'warning': {
      const { kind: _kind, ...warning } = item;
      return warn(db, { ...warning, ...context }, from);
    }
  }
}

/**
 * Whether each of some signs was reported in warnings of a session; a later one must not be taken for an earlier one.
 */
async function haveAllWarned(
  db: Db,
  { patientId, listeningId }: { patientId: string; listeningId: string },
  signs: readonly string[],
): Promise<boolean> {
  const warnedSigns = new Set((await listWarnedSigns(db, patientId, listeningId)).flatMap(readSigns));
  return signs.every((sign) => warnedSigns.has(sign));
}

/** The link of the reporting device, and the resources for notifying others. */
type From = Pick<Resources, 'reminderSecrets' | 'workshop'> & {
  listener: Listener;
  /** How urgent the warnings are that this report sends to clinicians, by patient. */
  warnedNow: Map<string, Urgency>;
};

type Warned = Omit<Parameters<typeof saveWarning>[1], 'signs'> & { signs: readonly string[] };

/**
 * A note waits until it has been read. One whose words may name a warning sign is sent to clinicians like a sign,
 * whatever the phone made of it: an older page does not check. If a warning in the same report is just as urgent, its
 * message covers both: the page it opens shows the note beside the sign.
 */
async function keepItsNote(
  db: Db,
  { id, patientId, answers, listeningId }: Extract<ReportItem, { kind: 'check-in' }>,
  { receivedAtMs }: ReportContext,
  { listener: { clinicId }, reminderSecrets, workshop, warnedNow }: From,
): Promise<void> {
  const text = answers.note?.trim() ?? '';
  if (text === '') return;
  const found = findNoteSigns(workshop, text);
  await saveNote(db, { checkInId: id, patientId }, found);
  await scheduleAfterChange(db, patientId);
  if (await haveAllWarned(db, { patientId, listeningId }, found.signs)) return;
  const urgency = warningUrgency(workshop.warningSigns, found.signs);
  const warned = warnedNow.get(patientId);
  if (warned !== undefined && !isMoreUrgent(urgency, warned)) return;
  const telling = workshop.warningSigns.telling[urgency];
  const unreadNote = { clinicId, patientId, checkInId: id, telling, nowMs: receivedAtMs };
  await notifyOfNote(db, unreadNote, reminderSecrets);
}

async function warn(
  db: Db,
  { signs, ...warning }: Warned,
  { listener: { clinicId }, reminderSecrets, workshop: { warningSigns }, warnedNow }: From,
): Promise<Kept> {
  const { id, patientId, receivedAtMs } = warning;
  await lockPatient(db, patientId);
  const result = await saveWarning(db, { ...warning, signs: JSON.stringify(signs) });
  if (result !== 'new') return result;
  await scheduleAfterChange(db, patientId);
  const patient = await patientById(db, clinicId, patientId);
  if (patient !== null) {
    const urgency = warningUrgency(warningSigns, signs);
    const before = warnedNow.get(patientId);
    if (before === undefined || isMoreUrgent(urgency, before)) warnedNow.set(patientId, urgency);
    const telling = warningSigns.telling[urgency];
    const openWarning = { clinicId, patient, warningId: id, telling, nowMs: receivedAtMs };
    await notifyOfWarning(db, openWarning, reminderSecrets);
  }
  const action = 'warning-reported';
  await addAuditEntry(db, {
    clinicId,
    patientId,
    clinicianId: null,
    action,
    subject: id,
    atMs: receivedAtMs,
  });
  return result;
}
