import { z } from 'zod';
import { adviceFor } from '../../followup/advice.js';
import type { Advised, ExerciseAdvice, ProgramAdvice } from '../../followup/adviceParts.js';
import type { History } from '../../followup/history.js';
import { readKeptAdvice } from '../../followup/keptAdvice.js';
import type { Content } from '../../prescription/programFindings.js';
import { auditActor } from '../../store/accounts/audit.js';
import { lockPatient } from '../../store/attention/patientChanged.js';
import { type AnsweredAdvice, saveAdviceAnswer } from '../../store/followup/history.js';
import type { Patient, SignedVersion } from '../../store/people/chart.js';
import { type Draft, draftAt, draftPlace, writeDraft } from '../../store/prescribing/prescriptions.js';
import { type Actor, requireMayWrite } from '../actor.js';
import { type Chart, lockChart } from '../people/chart.js';
import { findConflict, prepareSigning, type Signed, signPrepared } from '../prescribing/signing.js';
import { refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { parseForm, reasonSchema } from '../values.js';
import type { HistoryResources } from './readHistory.js';
import { readHistory } from './readHistory.js';

/** The resources for computing and answering advice. */
export type AdviceResources = Pick<Resources, 'store' | 'workshop' | 'lengths' | 'versions' | 'now'>;

/** The current advice about a patient, and clinicians' answers to earlier advice, newest first. */
export type AdviceNow = {
  history: History;
  programs: readonly ProgramAdvice[];
  answers: Awaited<ReturnType<Chart['adviceAnswers']>>;
};

/** A piece of advice as a form identifies it. */
export type AdviceNamed = {
  prescriptionId: string;
  versionNumber: number;
  /** Null for advice about the whole program. */
  exerciseIndex: number | null;
  /** What the page showed: advice that has changed since then cannot be answered. */
  key: string;
};

/** @param history if the caller has already read it */
export async function computeAdvice(
  service: HistoryResources,
  chart: Chart,
  history?: History,
): Promise<AdviceNow> {
  const known = history ?? (await readHistory(service, chart));
  return {
    history: known,
    programs: adviceFor(known, service.workshop.progression),
    answers: await chart.adviceAnswers(),
  };
}

/**
 * Rule ADV-7: accepting a step up or down signs the next version with exactly that dose. All signing rules apply; the
 * answer is stored together with the signature or not at all. Sent twice, it is signed once.
 *
 * @throws Refused for a read-only member; also if this is no longer the current advice, if she has a draft of the
 *   program, and as for {@link sign}
 */
export async function acceptAdvice(
  service: AdviceResources,
  actor: Actor,
  chart: Chart,
  named: AdviceNamed,
  reason: string,
): Promise<Signed> {
  requireMayWrite(actor);
  const { patient } = chart;
  const now = await computeAdvice(service, chart);
  const before = now.answers.find((answer) => isAnswerTo(answer, named) && answer.answer === 'accepted');
  if (before?.newVersionNumber != null && before.clinicianId === actor.clinician.id) {
    return { kind: 'signed', prescriptionId: named.prescriptionId, number: before.newVersionNumber };
  }
  const { advice, content } = await stepAdvised(chart, now, named);
  const subject = { patient, prescriptionId: named.prescriptionId };
  const work = {
    ...subject,
    basedOn: named.versionNumber,
    content: applyAdvisedDose(content, advice),
    workId: null,
  };
  const ready = await prepareSigning(service, actor, chart, { work, reason });
  if (ready.kind === 'refused') return ready;
  const signed = await service.store.write(async (db) => {
    const locked = await lockChart(db, chart);
    const draft = await draftAt(db, draftPlace(actor.clinician.id, subject));
    const outcome = await signPrepared(db, service, actor, locked, ready);
    if (outcome.kind !== 'signed' || !outcome.isNew) return outcome;
    // Either may have arrived since the advice was computed; nothing is stored then.
    if ((await locked.openWarningSince()) !== null) throw changed();
    if (advice.kind === 'step-up' && (await locked.unreadNotes()).length > 0) throw changed();
    requireNone(draft);
    const answer = { answer: 'accepted', reason, newVersionNumber: outcome.number } as const;
    await saveAdviceAnswer(db, { ...answerFor(named, advice, answer), ...whoAndWhom(actor, patient) });
    await auditActor(db, actor, {
      patientId: patient.id,
      subject: named.prescriptionId,
      action: 'advice-answered',
    });
    return outcome;
  });
  return signed.kind === 'outdated' ? findConflict(service, ready) : signed;
}

/**
 * Puts the advised change into her draft for editing. Errors as for {@link acceptAdvice}.
 *
 * @returns the address of the page where she continues
 */
export async function editAdvice(
  service: AdviceResources,
  actor: Actor,
  chart: Chart,
  named: AdviceNamed,
): Promise<string> {
  requireMayWrite(actor);
  const { patient } = chart;
  const now = await computeAdvice(service, chart);
  const { advice, content } = await stepAdvised(chart, now, named);
  const subject = { patient, prescriptionId: named.prescriptionId };
  await service.store.write(async (db) => {
    await lockPatient(db, patient.id);
    requireNone(await draftAt(db, draftPlace(actor.clinician.id, subject)));
    const draft = {
      content: JSON.stringify(applyAdvisedDose(content, advice)),
      basedOnNumber: named.versionNumber,
    };
    await writeDraft(db, draftPlace(actor.clinician.id, subject), { ...draft, updatedAtMs: actor.nowMs });
    const answer = answerFor(named, advice, { answer: 'edited', reason: '', newVersionNumber: null });
    await saveAdviceAnswer(db, { ...answer, ...whoAndWhom(actor, patient) });
    await auditActor(db, actor, {
      patientId: patient.id,
      subject: named.prescriptionId,
      action: 'advice-answered',
    });
  });
  return `/prescriptions/${named.prescriptionId}/change`;
}

/**
 * Stores why advice was declined, or what the review found.
 *
 * @throws Refused for a read-only member; also without a sentence, or if this is no longer the current advice
 */
export async function answerAdvice(
  service: AdviceResources,
  actor: Actor,
  chart: Chart,
  named: AdviceNamed,
  { answer, reason }: { answer: 'declined' | 'looked-at'; reason: string },
): Promise<void> {
  requireMayWrite(actor);
  parseForm(z.object({ reason: reasonSchema }), { reason });
  const { patient } = chart;
  const now = await computeAdvice(service, chart);
  const advice = adviceNamed(now, named);
  if ((advice.kind === 'review') !== (answer === 'looked-at') || advice.kind === 'stay') throw changed();
  await service.store.write(async (db) => {
    const locked = await lockChart(db, chart);
    const isSaidAgain = (await locked.adviceAnswers()).some(
      (before) =>
        isAnswerTo(before, named) &&
        before.answer === answer &&
        before.reason === reason &&
        before.clinicianId === actor.clinician.id,
    );
    if (isSaidAgain) return;
    const kept = answerFor(named, advice, { answer, reason, newVersionNumber: null });
    await saveAdviceAnswer(db, { ...kept, ...whoAndWhom(actor, patient) });
    await auditActor(db, actor, {
      patientId: patient.id,
      subject: named.prescriptionId,
      action: 'advice-answered',
    });
  });
}

/** The version that results from following advice: only the changed numbers differ. */
export function applyAdvisedDose(content: Content, { exerciseIndex, dose, to }: ExerciseAdvice): Content {
  const program = programSchema.parse(content.program);
  const changes = Object.entries(to ?? {}).filter(([key, value]) => dose[key] !== value);
  const exercises = program.exercises.map((entry, index) =>
    index === exerciseIndex ? { ...entry, dose: { ...entry.dose, ...Object.fromEntries(changes) } } : entry,
  );
  return { ...content, program: { ...program, exercises } };
}

/** The part of a program needed to change a dose; the whole was checked when it was signed. */
const programSchema = z.looseObject({
  exercises: z.array(z.looseObject({ dose: z.record(z.string(), z.unknown()).optional() })),
});

/** The current version, with its content. */
export async function readNewestVersion(
  chart: Pick<Chart, 'versions'>,
  prescriptionId: string,
): Promise<SignedVersion> {
  const [newest] = await chart.versions(prescriptionId);
  if (newest === undefined) throw new RangeError('a prescription has at least one version');
  return newest;
}

/** Whether an answer was given to a piece of advice in its current form. */
export function isAnswerTo(answer: AnsweredAdvice, named: AdviceNamed): boolean {
  return (
    answer.prescriptionId === named.prescriptionId &&
    answer.versionNumber === named.versionNumber &&
    answer.exerciseIndex === named.exerciseIndex &&
    readKeptAdvice(answer.advice).key === named.key
  );
}

async function stepAdvised(
  chart: Chart,
  now: AdviceNow,
  named: AdviceNamed,
): Promise<{ advice: ExerciseAdvice; content: Content }> {
  const advice = adviceNamed(now, named);
  if (!('to' in advice) || advice.to === null) throw changed();
  const newest = await readNewestVersion(chart, named.prescriptionId);
  if (newest.number !== named.versionNumber || newest.content === null) throw changed();
  return { advice, content: JSON.parse(newest.content) };
}

function adviceNamed({ programs }: AdviceNow, named: AdviceNamed): Advised | ExerciseAdvice {
  const program = programs.find(({ prescriptionId }) => prescriptionId === named.prescriptionId);
  const advice =
    named.exerciseIndex === null
      ? program?.whole
      : program?.exercises.find(({ exerciseIndex }) => exerciseIndex === named.exerciseIndex);
  if (advice === undefined || advice.key !== named.key) throw changed();
  if (program?.versionNumber !== named.versionNumber) throw changed();
  return advice;
}

function changed() {
  return refused('advice-outdated');
}

/** Signing discards her draft of the program, which may contain more than this step. */
function requireNone(draft: Draft | null): void {
  if (draft !== null) throw refused('conflicting-draft');
}

function answerFor(
  { prescriptionId, versionNumber, exerciseIndex }: AdviceNamed,
  advice: Advised,
  said: Pick<AnsweredAdvice, 'answer' | 'reason' | 'newVersionNumber'>,
): Omit<AnsweredAdvice, 'atMs'> {
  return { prescriptionId, versionNumber, exerciseIndex, advice: JSON.stringify(advice), ...said };
}

function whoAndWhom({ clinician, nowMs }: Actor, patient: Patient) {
  return { clinicianId: clinician.id, patientId: patient.id, atMs: nowMs };
}
