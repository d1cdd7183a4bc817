import { inputError } from '../../errors/stillcountError.js';
import {
  precautionsOf,
  type ScreeningAnswers,
  screeningAnswersSchema,
  unanswered,
  untold,
  withNames,
} from '../../screening/answers.js';
import type { ClinicWorkshop } from '../../session/workshop.js';
import { lockPatient } from '../../store/lockPatient.js';
import type { Db } from '../../store/openStore.js';
import { changeState, type Prescription, prescriptionsOf, versionsOf } from '../../store/prescriptions.js';
import { addScreening, newestScreening } from '../../store/screenings.js';
import { openFindings } from '../prescribing/findings.js';
import type { Service } from '../service.js';
import { type Actor, dayOf, note, requireMayWrite } from './actor.js';
import { ownPatient } from './records.js';

/** A precaution interview as it was taken down. */
export type TakenScreening = { id: string; answers: ScreeningAnswers; clinicianName: string; atMs: number };

/** A person's newest interview, or null before the first. */
export async function screeningOf(db: Db, patientId: string): Promise<TakenScreening | null> {
  const newest = await newestScreening(db, patientId);
  if (newest === null) return null;
  return { ...newest, answers: screeningAnswersSchema.parse(JSON.parse(newest.answers)) };
}

/** An interview holds for this long; then everything is asked again before something is signed (our choice). */
const holdsForMs = 90 * 24 * 60 * 60_000;

/** The names of questions that are open before anything can be signed: all of them when it was too long ago. */
export function openQuestions(
  { answers, atMs }: Pick<TakenScreening, 'answers' | 'atMs'>,
  { interview }: Pick<ClinicWorkshop, 'interview'>,
  nowMs: number,
): string[] {
  const open = nowMs - atMs > holdsForMs ? interview.precautions : unanswered(answers, interview);
  return open.map(({ name }) => name);
}

/** How many precautions some answers leave open in the newest version of a program, signed before them or not. */
export async function openCount(
  db: Db,
  workshop: ClinicWorkshop,
  actor: Actor,
  { id, answers }: { id: string; answers: ScreeningAnswers },
): Promise<number> {
  const [newest] = await versionsOf(db, id);
  if (newest === undefined) return 0;
  return openFindings(JSON.parse(newest.content), answers, workshop, dayOf(actor)).length;
}

/** The same for a page, with the newest interview; null for none, or before the first. */
export function openCountOf(
  { store, workshop }: Service,
  actor: Actor,
  { id, patientId }: Pick<Prescription, 'id' | 'patientId'>,
): Promise<number | null> {
  return store.read(async (db) => {
    const screening = await screeningOf(db, patientId);
    if (screening === null) return null;
    return (await openCount(db, workshop, actor, { id, answers: screening.answers })) || null;
  });
}

/**
 * Adds an interview to a person's record; earlier ones stay. A precaution that leaves out or holds back everything
 * pauses the programs that run, unless it was settled for them before.
 *
 * @throws Refusal for somebody who may only read, or when there is no such person; StillcountError kind `input`
 *   when a question is open or unknown
 */
export async function takeScreening(
  { store, workshop }: Service,
  actor: Actor,
  { patientId, answers }: { patientId: string; answers: ScreeningAnswers },
): Promise<string> {
  requireMayWrite(actor);
  const known = workshop.interview.precautions.map(({ id }) => id);
  const problems = [
    ...unanswered(answers, workshop.interview).map(({ id, name }) => ({
      path: `answers.${id}`,
      message: `${name}: please answer this`,
    })),
    ...untold(answers, workshop.interview).map(({ id, name }) => ({
      path: `answers.${id}.details`,
      message: `${name}: please write when it was, which side, and what is allowed`,
    })),
    ...Object.keys(answers)
      .filter((id) => !known.includes(id))
      .map((id) => ({ path: `answers.${id}`, message: 'there is no such question' })),
  ];
  if (problems.length > 0) throw inputError(problems);
  return store.write(async (db) => {
    await ownPatient(db, actor, patientId);
    await lockPatient(db, patientId);
    const precautions = precautionsOf(answers, workshop.interview);
    const taken = {
      patientId,
      answers: JSON.stringify(withNames(answers, workshop.interview)),
      stops: precautions.some(({ rules }) => rules.some(({ stop }) => stop)),
      clinicianId: actor.clinician.id,
    };
    const id = await addScreening(db, { ...taken, nowMs: actor.nowMs });
    await note(db, actor, { patientId, subject: id, action: 'patient-screened' });
    await pauseWhatWaits(db, workshop, actor, { patientId, answers });
    return id;
  });
}

/** A program does not go on while something that is for all of it has to be looked at first. */
async function pauseWhatWaits(
  db: Db,
  workshop: ClinicWorkshop,
  actor: Actor,
  { patientId, answers }: { patientId: string; answers: ScreeningAnswers },
): Promise<void> {
  const { clinicId, id: clinicianId } = actor.clinician;
  for (const { id: prescriptionId, state } of await prescriptionsOf(db, clinicId, patientId)) {
    if (state !== 'active') continue;
    const [newest] = await versionsOf(db, prescriptionId);
    const content = newest === undefined ? {} : JSON.parse(newest.content);
    const first = openFindings(content, answers, workshop, dayOf(actor)).find(
      ({ rule }) => rule.everything && rule.measure !== 'change',
    );
    if (first === undefined) continue;
    const reason = first.precaution.name;
    await changeState(db, { prescriptionId, state: 'paused', clinicianId, reason, nowMs: actor.nowMs });
    await note(db, actor, { patientId, subject: prescriptionId, action: 'prescription-paused' });
  }
}
