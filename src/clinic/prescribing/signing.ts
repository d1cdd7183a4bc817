import { type ReadPrescription, readPrescription } from '../../prescription/content.js';
import { type Difference, differences } from '../../prescription/differences.js';
import { doseValue } from '../../prescription/doseWords.js';
import { type Content, programFindings, ruleNames } from '../../prescription/programFindings.js';
import { resolveSettlements } from '../../prescription/resolveSettlements.js';
import { listDoseIncreases } from '../../prescription/stepsUp.js';
import {
  type UnmetCeiling,
  type UnmetKnees,
  unmetCeilings,
  unmetKnees,
} from '../../program/adaptationEffects.js';
import { listUnsettled } from '../../screening/settlements.js';
import { openQuestions, type TakenScreening } from '../../screening/takenScreening.js';
import { previewScript } from '../../session/makeSession.js';
import { auditActor } from '../../store/accounts/audit.js';
import type { Db } from '../../store/engine/openStore.js';
import { versionsOf } from '../../store/people/chart.js';
import {
  createPrescription,
  deleteDraft,
  draftPlace,
  findPrescriptionOfWork,
  type Signing,
  signVersion,
} from '../../store/prescribing/prescriptions.js';
import { type Actor, clinicDayOf, requireMayWrite } from '../actor.js';
import { type Chart, lockChart, requireScreenedSince } from '../people/chart.js';
import { findCorrectableRefusals, type Refusal, type Refused, refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { easierLengths } from '../resources/sessionLengths.js';
import { reasonSchema } from '../values.js';
import type { Work } from './drafts.js';
import { stepRefusals } from './unanswered.js';

/** A newer version that was signed during the work. */
export type Conflict = { by: string; number: number; prescriptionId: string; differences: Difference[] };

/** The result of an attempt to sign. */
export type Signed =
  | { kind: 'signed'; prescriptionId: string; number: number }
  | { kind: 'refused'; refusals: readonly Refusal[] }
  | { kind: 'conflict'; conflict: Conflict };

/** A draft with no known obstacle, before the patient is locked. */
export type ReadyToSign = {
  kind: 'ready';
  work: Work;
  read: ReadPrescription;
  screening: TakenScreening;
  signing: Signing;
};

/** The result of signing under the lock: as {@link Signed}, but without a newer version signed in the meantime. */
export type SignedNow =
  | (Extract<Signed, { kind: 'signed' }> & { isNew: boolean })
  | Extract<Signed, { kind: 'refused' }>
  | { kind: 'outdated' };

/**
 * Signs a draft as a version: the first of a new prescription, or the next one. Nothing is signed without a reason,
 * without a screening, or while a precaution that applies to an exercise is unresolved. A version that asks for more
 * than the one before is not signed while a warning sign or a note of this patient is unanswered.
 *
 * @throws Refused for a read-only member; also if the prescription has ended
 */
export async function signWork(
  service: Pick<Resources, 'store' | 'workshop' | 'versions'>,
  actor: Actor,
  chart: Chart,
  work: Work,
  reason: string,
): Promise<Signed> {
  const ready = await prepareSigning(service, actor, chart, { work, reason });
  if (ready.kind === 'refused') return ready;
  const signed = await service.store.write(async (db) =>
    signPrepared(db, service, actor, await lockChart(db, chart), ready),
  );
  return signed.kind === 'outdated' ? findConflict(service, ready) : signed;
}

/** Checks a draft against the patient's chart as it is now. @throws Refused for a read-only member */
export async function prepareSigning(
  service: Pick<Resources, 'workshop'>,
  actor: Actor,
  chart: Chart,
  { work, reason }: { work: Work; reason: string },
): Promise<ReadyToSign | Extract<Signed, { kind: 'refused' }>> {
  requireMayWrite(actor);
  const screening = await chart.screening();
  const content = resolveSettlements(
    work.content,
    screening?.answers ?? null,
    service.workshop,
    clinicDayOf(actor),
  );
  const read = await validateProgram(content, service);
  if ('refusals' in read) return { kind: 'refused', refusals: read.refusals };
  const refusals = signingBlockers(service, actor, { work, reason, read, screening });
  if (refusals.length > 0 || screening === null) return { kind: 'refused', refusals };
  const signing = {
    title: read.program.title,
    content: JSON.stringify(content),
    screeningId: screening.id,
    reason,
    signedBy: actor.clinician.id,
    nowMs: actor.nowMs,
  };
  return { kind: 'ready', work, read, screening, signing };
}

/**
 * Signs a checked draft in the transaction that has locked the patient: everything that may have changed since the
 * check is checked again.
 *
 * @param locked the chart opened with the lock
 * @throws Refused if the patient was screened, or came back from the hospital, in the meantime
 */
export async function signPrepared(
  db: Db,
  service: Pick<Resources, 'versions'>,
  actor: Actor,
  locked: Chart,
  { work, read, screening, signing }: ReadyToSign,
): Promise<SignedNow> {
  const { prescriptionId } = work;
  const patientId = locked.patient.id;
  // Rule SIGN-3: a screening recorded in the meantime must be reviewed first.
  if ((await locked.screening())?.id !== screening.id) {
    throw refused('screened-meanwhile');
  }
  const since = { screenedAtMs: screening.oldestAtMs, today: clinicDayOf(actor), path: 'screening' };
  await requireScreenedSince(locked, since);
  const earlier = await signedBefore(db, locked, work, signing);
  if (earlier !== null) {
    await deleteDraft(db, draftPlace(actor.clinician.id, work));
    return { ...earlier, isNew: false };
  }
  const isWarned = (await locked.openWarningSince()) !== null;
  const unanswered = { isWarned, unreadNotes: (await locked.unreadNotes()).length };
  if (isWarned || unanswered.unreadNotes > 0) {
    const more = listDoseIncreases(await readBefore(service, locked, work), read);
    const held = stepRefusals(unanswered, more);
    if (held.length > 0) return { kind: 'refused', refusals: held };
  }
  const made =
    prescriptionId === null
      ? { id: await createPrescription(db, patientId, signing, work.workId), number: 1 }
      : { id: prescriptionId, number: await signVersion(db, prescriptionId, work.basedOn, signing) };
  if (made.number === null) return { kind: 'outdated' };
  await deleteDraft(db, draftPlace(actor.clinician.id, work));
  await auditActor(db, actor, { patientId, subject: made.id, action: 'prescription-signed' });
  return { kind: 'signed', prescriptionId: made.id, number: made.number, isNew: true };
}

/** The draft as a prescription, or why no session can be made from it. */
export async function validateProgram(
  content: Content,
  { workshop }: Pick<Resources, 'workshop'>,
): Promise<ReadPrescription | { refusals: Refused['refusals'] }> {
  try {
    const read = readPrescription(content, 'this program', workshop.catalogues);
    // Some problems show only when the session is laid out: a budget that cannot be met, or wording that does not fit.
    await previewScript(read.program, workshop);
    await easierLengths(read, workshop);
    return read;
  } catch (error) {
    const refusals = findCorrectableRefusals(error);
    if (refusals === null) throw error;
    return { refusals };
  }
}

/**
 * Rule SIGN-6: the same draft sent again, by a second click or a repeated request, was signed the first time.
 *
 * @throws Refused if a new program was already signed and then changed, or is damaged
 */
async function signedBefore(
  db: Db,
  locked: Chart,
  work: Work,
  signing: Signing,
): Promise<Extract<Signed, { kind: 'signed' }> | null> {
  const prescriptionId =
    work.prescriptionId ?? (await findPrescriptionOfWork(db, work.workId, work.patient.id));
  if (prescriptionId === null) return null;
  const [newest] = await locked.versions(prescriptionId);
  if (newest?.damage === 'program') throw refused('record-damaged');
  const isSame =
    newest !== undefined &&
    newest.content === signing.content &&
    newest.signedBy === signing.signedBy &&
    newest.reason === signing.reason &&
    newest.number === work.basedOn + 1;
  if (isSame) return { kind: 'signed', prescriptionId, number: newest.number };
  if (work.prescriptionId !== null) return null;
  throw refused('signed-already');
}

type Attempt = {
  work: Work;
  reason: string;
  read: ReadPrescription;
  screening: TakenScreening | null;
};

/**
 * What prevents signing. Rule SIGN-1: no reason given. Rule SIGN-2: an open question. Rule SIGN-4: an open precaution.
 */
function signingBlockers(
  { workshop }: Pick<Resources, 'workshop'>,
  actor: Actor,
  { work, reason, read, screening }: Attempt,
): Refusal[] {
  if (screening === null) {
    return [{ code: 'screening-missing', field: 'screening' }];
  }
  const open = openQuestions(screening, workshop, actor.nowMs);
  const today = clinicDayOf(actor);
  const findings = listUnsettled(
    programFindings(work.content, screening.answers, workshop),
    read.settlements,
    today,
  );
  return [
    ...open.map((name) => ({ code: 'question-not-asked' as const, field: 'screening', about: name })),
    ...findings.map(({ precaution, rule }) => ({
      code: rule.stop ? ('program-stopped' as const) : ('precaution-open' as const),
      field: precaution.name,
      about: rule.how,
    })),
    ...unmetCeilings(read.program).map(ceilingRefusal),
    ...unmetKnees(read.program).map(kneesRefusal),
    ...(reasonSchema.safeParse(reason).success ? [] : [{ code: 'reason-missing' as const, field: 'why' }]),
  ];
}

/** The version that the draft is based on; null if there is none, or none that can still be read. */
async function readBefore(
  { versions }: Pick<Resources, 'versions'>,
  locked: Chart,
  { prescriptionId }: Work,
): Promise<ReadPrescription | null> {
  const [newest] = prescriptionId === null ? [] : await locked.versions(prescriptionId);
  if (prescriptionId === null || newest === undefined) return null;
  return versions.kept(prescriptionId, newest).shown;
}

/** The resolution of a precaution cannot be applied to this exercise. */
function ceilingRefusal({ exerciseIndex, precaution, key, ceiling, least }: UnmetCeiling): Refusal {
  return {
    code: 'ceiling-not-met',
    field: `exercises[${exerciseIndex}].dose.${key}`,
    about: precaution,
    found: `at least ${doseValue(key, least)}`,
    allowed: `at most ${doseValue(key, ceiling)}`,
  };
}

/** The resolution and what would be heard contradict each other. */
function kneesRefusal({ exerciseIndex, precaution, requested: asked }: UnmetKnees): Refusal {
  return {
    code: 'knees-not-met',
    field: `exercises[${exerciseIndex}].setUp.knees`,
    about: precaution,
    found: 'both legs straight',
    allowed: `knees ${asked.replaceAll('-', ' ')}`,
  };
}

/**
 * Why an overtaken draft cannot be signed: the version that someone signed in the meantime, which an earlier chart does
 * not contain.
 *
 * @throws Refused if nothing was signed: the prescription has ended
 */
export async function findConflict(
  { store, workshop, versions: readVersions }: Pick<Resources, 'store' | 'workshop' | 'versions'>,
  { work, read: mine }: ReadyToSign,
): Promise<Signed> {
  const { prescriptionId } = work;
  const versions = prescriptionId === null ? [] : await store.read((db) => versionsOf(db, prescriptionId));
  const [newest] = versions;
  if (prescriptionId === null || newest === undefined || newest.number === work.basedOn) {
    throw refused('program-ended');
  }
  const theirs = readVersions.kept(prescriptionId, newest).shown;
  const conflict = {
    by: newest.signedByName,
    number: newest.number,
    prescriptionId,
    differences: theirs === null ? [] : differences(theirs, mine, ruleNames(workshop)),
  };
  return { kind: 'conflict', conflict };
}
