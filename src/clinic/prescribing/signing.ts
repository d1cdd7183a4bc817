import { inputError, type Problem, StillcountError } from '../../errors/stillcountError.js';
import { type ReadPrescription, readPrescription } from '../../prescription/content.js';
import { type Difference, differences } from '../../prescription/differences.js';
import { doseValue } from '../../prescription/doseWords.js';
import { stepsUp } from '../../prescription/stepsUp.js';
import {
  type UnmetCeiling,
  type UnmetKnees,
  unmetCeilings,
  unmetKnees,
} from '../../program/adaptationEffects.js';
import { unsettled } from '../../screening/settlements.js';
import { previewScript } from '../../session/makeSession.js';
import { lockPatient } from '../../store/attention/lockPatient.js';
import type { Db } from '../../store/engine/openStore.js';
import { dropDraft } from '../../store/prescribing/drafts.js';
import {
  createPrescription,
  prescriptionOfWork,
  type Signing,
  signVersion,
  versionsOf,
} from '../../store/prescribing/prescriptions.js';
import { type Actor, dayOf, note, requireMayWrite } from '../actor.js';
import { easierLengths } from '../listening/easierSessions.js';
import { makeAheadFor } from '../listening/makeAhead.js';
import { requireScreenedSince } from '../people/hospital.js';
import { damagedProblem } from '../resources/readVersions.js';
import type { Resources } from '../resources/resources.js';
import { type Content, programFindings, ruleNames } from '../screening/findings.js';
import { openQuestions, screeningOf, type TakenScreening } from '../screening/screening.js';
import { reasonSchema } from '../values.js';
import { asSigned } from './asSigned.js';
import { draftPlace, type Work } from './drafts.js';
import { stepProblems, unansweredOf } from './unanswered.js';

/** A newer version that was signed while the work went on. */
export type Conflict = { by: string; number: number; prescriptionId: string; differences: Difference[] };

/** What came of an attempt to sign. */
export type Signed =
  | { kind: 'signed'; prescriptionId: string; number: number }
  | { kind: 'problems'; problems: readonly Problem[] }
  | { kind: 'conflict'; conflict: Conflict };

/**
 * Signs work as a version: a new prescription's first, or the next of one. Nothing is signed without a reason,
 * without a screening, or while a precaution that meets an exercise is not settled; nothing that asks for more than
 * the version before it while this person waits for an answer to a warning sign or a note.
 *
 * @param alongside what is written in the same transaction, once the version has its number; it may still refuse
 * @throws Refusal for somebody who may only read; StillcountError kind `input` when the prescription has ended
 */
export async function sign(
  service: Pick<
    Resources,
    | 'store'
    | 'workshop'
    | 'shelf'
    | 'lengths'
    | 'versions'
    | 'reminderSecrets'
    | 'channelNames'
    | 'life'
    | 'incidents'
    | 'now'
  >,
  actor: Actor,
  work: Work,
  reason: string,
  alongside: (db: Db, number: number) => Promise<void> = async () => {},
): Promise<Signed> {
  requireMayWrite(actor);
  const { store } = service;
  const screening = await store.read((db) => screeningOf(db, work.patient.id));
  const content = asSigned(work.content, screening?.answers ?? null, service.workshop, dayOf(actor));
  const read = await makeable(content, service);
  if ('problems' in read) return { kind: 'problems', problems: read.problems };
  const problems = standingAgainst(service, actor, { work, reason, read, screening });
  if (problems.length > 0 || screening === null) return { kind: 'problems', problems };
  const { prescriptionId, patient } = work;
  const signing = {
    title: read.program.title,
    content: JSON.stringify(content),
    screeningId: screening.id,
    reason,
    signedBy: actor.clinician.id,
    nowMs: actor.nowMs,
  };
  const signed = await store.write(async (db) => {
    await lockPatient(db, patient.id);
    if ((await screeningOf(db, patient.id))?.id !== screening.id) {
      throw inputError({ message: 'somebody has screened this person meanwhile', hint: 'look again' });
    }
    const since = { screenedAtMs: screening.oldestAtMs, today: dayOf(actor), path: 'screening' };
    await requireScreenedSince(db, patient.id, since);
    const earlier = await signedBefore(db, work, signing);
    if (earlier !== null) {
      await dropDraft(db, draftPlace(actor, work));
      return earlier;
    }
    const unanswered = await unansweredOf(db, patient.id);
    if (unanswered !== null) {
      const more = stepsUp(await readBefore(service, db, work), read);
      const held = stepProblems(unanswered, more);
      if (held.length > 0) return { kind: 'problems', problems: held } as const;
    }
    const made =
      prescriptionId === null
        ? { id: await createPrescription(db, patient.id, signing, work.workId), number: 1 }
        : { id: prescriptionId, number: await signVersion(db, prescriptionId, work.basedOn, signing) };
    if (made.number === null) return null;
    await alongside(db, made.number);
    await dropDraft(db, draftPlace(actor, work));
    await note(db, actor, { patientId: patient.id, subject: made.id, action: 'prescription-signed' });
    return { kind: 'signed', prescriptionId: made.id, number: made.number } as const;
  });
  if (signed === null) return { kind: 'conflict', conflict: await conflictOf(service, work, read) };
  makeAheadFor(service, actor.clinician.clinicId, patient.id);
  return signed;
}

/** The work as a prescription, or what stands against making a session of it. */
export async function makeable(
  content: Content,
  { workshop }: Pick<Resources, 'workshop'>,
): Promise<ReadPrescription | { problems: readonly Problem[] }> {
  try {
    const read = readPrescription(content, 'this program', workshop.catalogues);
    // Some faults show only when the session is laid out: a budget that cannot be met, words without room.
    await previewScript(read.program, workshop);
    await easierLengths(read, workshop);
    return read;
  } catch (error) {
    if (error instanceof StillcountError && error.kind === 'input') return { problems: error.problems };
    throw error;
  }
}

/**
 * The same work sent again, by a second click or a repeated request, was signed the first time.
 *
 * @throws StillcountError kind `input` when new work was signed already and then changed, or the program is damaged
 */
async function signedBefore(db: Db, work: Work, signing: Signing): Promise<Signed | null> {
  const prescriptionId = work.prescriptionId ?? (await prescriptionOfWork(db, work.workId, work.patient.id));
  if (prescriptionId === null) return null;
  const [newest] = await versionsOf(db, prescriptionId);
  if (newest?.damage === 'program') throw inputError(damagedProblem('program', newest.number));
  const isSame =
    newest !== undefined &&
    newest.content === signing.content &&
    newest.signedBy === signing.signedBy &&
    newest.reason === signing.reason &&
    newest.number === work.basedOn + 1;
  if (isSame) return { kind: 'signed', prescriptionId, number: newest.number };
  if (work.prescriptionId !== null) return null;
  throw inputError({
    message: 'this work was signed already; change it on its own page',
    hint: 'what you changed since is kept among your unsigned work',
  });
}

type Attempt = {
  work: Work;
  reason: string;
  read: ReadPrescription;
  screening: TakenScreening | null;
};

function standingAgainst(
  { workshop }: Pick<Resources, 'workshop'>,
  actor: Actor,
  { work, reason, read, screening }: Attempt,
): Problem[] {
  if (screening === null) {
    return [{ path: 'screening', message: 'this patient has not been screened yet' }];
  }
  const open = openQuestions(screening, workshop, actor.nowMs);
  const today = dayOf(actor);
  const findings = unsettled(
    programFindings(work.content, screening.answers, workshop),
    read.settlements,
    today,
  );
  return [
    ...open.map((name) => ({ path: 'screening', message: `${name}: not asked yet, or too long ago` })),
    ...findings.map(({ precaution, rule }) => ({
      path: precaution.name,
      message: rule.stop ? `this stops every program: ${rule.how}` : `not resolved yet: ${rule.how}`,
    })),
    ...unmetCeilings(read.program).map(ceilingProblem),
    ...unmetKnees(read.program).map(kneesProblem),
    ...(reasonSchema.safeParse(reason).success
      ? []
      : [{ path: 'why', message: 'enter one sentence for the record, up to 500 characters' }]),
  ];
}

/** The version that the work goes on top of; null where there is none, or none that can still be read. */
async function readBefore(
  { versions }: Pick<Resources, 'versions'>,
  db: Db,
  { prescriptionId }: Work,
): Promise<ReadPrescription | null> {
  const [newest] = prescriptionId === null ? [] : await versionsOf(db, prescriptionId);
  if (prescriptionId === null || newest === undefined) return null;
  return versions.kept(prescriptionId, newest).shown;
}

/** What was settled cannot be carried out in this exercise. */
function ceilingProblem({ exerciseIndex, precaution, key, ceiling, least }: UnmetCeiling): Problem {
  return {
    path: `exercises[${exerciseIndex}].dose.${key}`,
    message: `${precaution}: the exercise cannot be done this way`,
    found: `at least ${doseValue(key, least)}`,
    allowed: `at most ${doseValue(key, ceiling)}`,
    hint: 'leave the exercise out',
  };
}

/** What was settled and what would be heard are at odds. */
function kneesProblem({ exerciseIndex, precaution, asked }: UnmetKnees): Problem {
  return {
    path: `exercises[${exerciseIndex}].setUp.knees`,
    message: `${precaution}: the exercise cannot be done this way`,
    found: 'both legs straight',
    allowed: `knees ${asked.replaceAll('-', ' ')}`,
    hint: 'leave the exercise out, or write why it is done otherwise',
  };
}

async function conflictOf(
  { store, workshop, versions: readVersions }: Pick<Resources, 'store' | 'workshop' | 'versions'>,
  work: Work,
  mine: ReadPrescription,
): Promise<Conflict> {
  const { prescriptionId } = work;
  const versions = prescriptionId === null ? [] : await store.read((db) => versionsOf(db, prescriptionId));
  const [newest] = versions;
  if (prescriptionId === null || newest === undefined || newest.number === work.basedOn) {
    throw inputError({ message: 'this program has ended; nothing can be signed on top of it' });
  }
  const theirs = readVersions.kept(prescriptionId, newest).shown;
  return {
    by: newest.signedByName,
    number: newest.number,
    prescriptionId,
    differences: theirs === null ? [] : differences(theirs, mine, ruleNames(workshop)),
  };
}
