import { inputError, type Problem } from '../../errors/stillcountError.js';
import {
  carriedOver,
  missingDetails,
  oldestAnswerAtMs,
  precautionsOf,
  type ScreeningAnswers,
  screeningAnswersSchema,
  unanswered,
  withNames,
} from '../../screening/answers.js';
import { type Interview, isUrgent, type Precaution } from '../../screening/interview.js';
import type { ClinicWorkshop } from '../../session/workshop.js';
import { lockPatient } from '../../store/attention/lockPatient.js';
import type { Db } from '../../store/engine/openStore.js';
import {
  changeState,
  type Prescription,
  prescriptionsOf,
  versionsOf,
} from '../../store/prescribing/prescriptions.js';
import { addScreening, newestScreening } from '../../store/screening/screenings.js';
import { type Actor, dayOf, note, requireMayWrite } from '../actor.js';
import { requireScreenedSince } from '../people/hospital.js';
import { ownPatient } from '../people/openRecord.js';
import type { Resources } from '../resources/resources.js';
import { openFindings } from './findings.js';
import { noteWhatIsOpen } from './unasked.js';

/** A precaution interview as it was taken down. */
export type TakenScreening = {
  id: string;
  answers: ScreeningAnswers;
  clinicianName: string;
  atMs: number;
  /** When the oldest of its answers was given: earlier than the interview where only new questions were asked. */
  oldestAtMs: number;
};

/** A person's newest interview, or null before the first. One that is damaged counts as none: they are asked anew. */
export async function screeningOf(db: Db, patientId: string): Promise<TakenScreening | null> {
  const newest = await newestScreening(db, patientId);
  if (newest?.answers == null) return null;
  const answers = screeningAnswersSchema.parse(JSON.parse(newest.answers));
  return { ...newest, answers, oldestAtMs: oldestAnswerAtMs(answers, newest.atMs) };
}

/** An interview holds for this long; then everything is asked again before something is signed (our choice). */
const holdsForMs = 90 * 24 * 60 * 60_000;

/** Whether an interview is too old for anything to be signed, or added to it. */
export function isTooOld({ oldestAtMs }: Pick<TakenScreening, 'oldestAtMs'>, nowMs: number): boolean {
  return nowMs - oldestAtMs > holdsForMs;
}

/** The names of questions that are open before anything can be signed: all of them when it was too long ago. */
export function openQuestions(
  screening: Pick<TakenScreening, 'answers' | 'oldestAtMs'>,
  { interview }: Pick<ClinicWorkshop, 'interview'>,
  nowMs: number,
): string[] {
  const open = isTooOld(screening, nowMs) ? interview.precautions : unanswered(screening.answers, interview);
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
  // What is damaged is not resumed for that.
  if (newest?.content == null) return 0;
  return openFindings(JSON.parse(newest.content), answers, workshop, dayOf(actor)).length;
}

/** The same for a page, with the newest interview; null for none, or before the first. */
export function openCountOf(
  { store, workshop }: Pick<Resources, 'store' | 'workshop'>,
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
 * pauses the programs that run, unless it was settled for them before. What stops is taken down as it is, without
 * the questions after it.
 *
 * @param isAddition only questions that are new were asked: the answers of the newest interview stay, with their day,
 *   and what can wait for the next visit may stay open
 * @throws Refusal for somebody who may only read, or when there is no such person; StillcountError kind `input`
 *   when a question is open or unknown, or the newest interview is too old to be added to
 */
export async function takeScreening(
  { store, workshop }: Pick<Resources, 'store' | 'workshop'>,
  actor: Actor,
  {
    patientId,
    answers,
    isAddition = false,
  }: { patientId: string; answers: ScreeningAnswers; isAddition?: boolean },
): Promise<string> {
  requireMayWrite(actor);
  const { interview } = workshop;
  // When something was asked is known here, whatever was sent.
  const given: ScreeningAnswers = Object.fromEntries(
    Object.entries(answers).map(([id, { answer, details }]) => [id, { answer, details }]),
  );
  const stops = stopsOf(given, interview).length > 0;
  return store.write(async (db) => {
    await ownPatient(db, actor, patientId);
    await lockPatient(db, patientId);
    const before = await screeningOf(db, patientId);
    if (isAddition) await requireMayBeAddedTo(db, actor, patientId, before);
    // A record must not say that somebody was asked today who was not.
    if (isAddition && Object.keys(given).length === 0) {
      throw inputError({
        path: 'answers',
        message: 'no question was asked, or somebody else has asked them',
      });
    }
    const kept = before !== null && (isAddition || stops) ? carriedOver(before.answers, before.atMs) : {};
    const all = { ...kept, ...given };
    const open = stops ? [] : unanswered(all, interview);
    const problems = problemsOf(
      given,
      open.filter((each) => !isAddition || isUrgent(each)),
      interview,
    );
    if (problems.length > 0) throw inputError(problems);
    const taken = {
      patientId,
      answers: JSON.stringify(withNames(all, interview)),
      stops: stopsOf(all, interview).length > 0,
      clinicianId: actor.clinician.id,
    };
    const id = await addScreening(db, { ...taken, nowMs: actor.nowMs });
    await note(db, actor, { patientId, subject: id, action: 'patient-screened' });
    await pauseWhatWaits(db, workshop, actor, { patientId, answers: all });
    const { clinicId } = actor.clinician;
    await noteWhatIsOpen(db, workshop, { patientId, clinicId, answers: all }, actor.nowMs);
    return id;
  });
}

/** Precautions of some answers that go to a doctor before everything else, each with what is done. */
export function stopsOf(
  answers: ScreeningAnswers,
  interview: Interview,
): readonly { id: string; name: string; how: string }[] {
  return precautionsOf(answers, interview).flatMap(({ id, name, rules }) =>
    rules.filter(({ stop }) => stop).map(({ how }) => ({ id, name, how })),
  );
}

function problemsOf(given: ScreeningAnswers, open: readonly Precaution[], interview: Interview): Problem[] {
  const known = interview.precautions.map(({ id }) => id);
  return [
    ...open.map(({ id, name }) => ({ path: `answers.${id}`, message: `${name}: answer this question` })),
    ...missingDetails(given, interview).map(({ id, name }) => ({
      path: `answers.${id}.details`,
      message: `${name}: enter when it was, which side, and what is allowed`,
    })),
    ...Object.keys(given)
      .filter((id) => !known.includes(id))
      .map((id) => ({ path: `answers.${id}`, message: 'there is no such question' })),
  ];
}

async function requireMayBeAddedTo(
  db: Db,
  actor: Actor,
  patientId: string,
  before: TakenScreening | null,
): Promise<void> {
  if (before === null || isTooOld(before, actor.nowMs)) {
    throw inputError({
      path: 'answers',
      message: 'the last screening is too old to add to: ask everything again',
    });
  }
  const since = { screenedAtMs: before.oldestAtMs, today: dayOf(actor), path: 'answers' };
  await requireScreenedSince(db, patientId, since);
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
    const content = newest?.content == null ? {} : JSON.parse(newest.content);
    const first = openFindings(content, answers, workshop, dayOf(actor)).find(
      ({ rule }) => rule.everything && rule.measure !== 'change',
    );
    if (first === undefined) continue;
    const reason = first.precaution.name;
    await changeState(db, { prescriptionId, state: 'paused', clinicianId, reason, nowMs: actor.nowMs });
    await note(db, actor, { patientId, subject: prescriptionId, action: 'prescription-paused' });
  }
}
