import { openFindings } from '../../prescription/programFindings.js';
import {
  carriedOver,
  missingDetails,
  precautionsOf,
  type ScreeningAnswers,
  unanswered,
  withNames,
} from '../../screening/answers.js';
import { type Interview, isUrgent, type Precaution } from '../../screening/interview.js';
import { isTooOld, readScreening, type TakenScreening } from '../../screening/takenScreening.js';
import type { ClinicWorkshop } from '../../session/workshop.js';
import { auditActor } from '../../store/accounts/audit.js';
import type { Db } from '../../store/engine/openStore.js';
import { newestScreening, type Prescription } from '../../store/people/chart.js';
import { changeState } from '../../store/prescribing/prescriptions.js';
import { addScreening } from '../../store/screening/screenings.js';
import { type Actor, clinicDayOf, requireMayWrite } from '../actor.js';
import { type Chart, lockOwnChart, requireScreenedSince } from '../people/chart.js';
import { type Refusal, refused, throwIfRefused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { flagOpenQuestions } from './unasked.js';

/** A patient's newest interview, for callers without an open chart; null before the first, and for a damaged one. */
export async function screeningOf(db: Db, patientId: string): Promise<TakenScreening | null> {
  return readScreening(await newestScreening(db, patientId));
}

/**
 * How many precautions some answers leave open in the newest version of a program, whether or not it was signed before
 * them.
 */
export async function countOpenFindings(
  chart: Pick<Chart, 'versions'>,
  workshop: ClinicWorkshop,
  actor: Actor,
  { id, answers }: { id: string; answers: ScreeningAnswers },
): Promise<number> {
  const [newest] = await chart.versions(id);
  // A damaged program is not resumed for that.
  if (newest?.content == null) return 0;
  return openFindings(JSON.parse(newest.content), answers, workshop, clinicDayOf(actor)).length;
}

/** The same for a page, with the newest interview; null if there is none. */
export async function countOpenFindingsNow(
  { workshop }: Pick<Resources, 'workshop'>,
  actor: Actor,
  chart: Chart,
  { id }: Pick<Prescription, 'id'>,
): Promise<number | null> {
  const screening = await chart.screening();
  if (screening === null) return null;
  return (await countOpenFindings(chart, workshop, actor, { id, answers: screening.answers })) || null;
}

/**
 * Adds an interview to a patient's record; earlier ones stay. A precaution that leaves out or holds back everything
 * pauses the active programs, unless it was resolved for them before. An answer that stops all exercise is recorded as
 * it is, without the questions after it.
 *
 * @param isAddition only new questions were asked: the answers of the newest interview stay, with their dates, and what
 *   can wait for the next visit may stay open
 * @throws Refused for a read-only member, or if there is no such patient; also if a question is open or unknown, or the
 *   newest interview is too old to add to
 */
export async function saveScreening(
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
  // The service knows when an answer was given, whatever time was sent.
  const given: ScreeningAnswers = Object.fromEntries(
    Object.entries(answers).map(([id, { answer, details }]) => [id, { answer, details }]),
  );
  const stops = listUrgentPrecautions(given, interview).length > 0;
  return store.write(async (db) => {
    const chart = await lockOwnChart(db, actor, patientId);
    const before = await chart.screening();
    if (isAddition) await requireMayBeAddedTo(actor, chart, before);
    // A record must not say that someone was asked today who was not.
    if (isAddition && Object.keys(given).length === 0) {
      throw refused('nothing-asked', { field: 'answers' });
    }
    const carried = before !== null && (isAddition || stops) ? carriedOver(before.answers, before.atMs) : {};
    const all = { ...carried, ...given };
    const open = stops ? [] : unanswered(all, interview);
    const against = refusalsOf(
      given,
      open.filter((each) => !isAddition || isUrgent(each)),
      interview,
    );
    throwIfRefused(against);
    const taken = {
      patientId,
      answers: JSON.stringify(withNames(all, interview)),
      stops: listUrgentPrecautions(all, interview).length > 0,
      clinicianId: actor.clinician.id,
    };
    const id = await addScreening(db, { ...taken, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId, subject: id, action: 'patient-screened' });
    await pauseWhatWaits(db, workshop, actor, { chart, answers: all });
    const { clinicId } = actor.clinician;
    await flagOpenQuestions(db, workshop, { patientId, clinicId, answers: all }, actor.nowMs);
    return id;
  });
}

/** Precautions among some answers that need a doctor before anything else, each with what to do. */
export function listUrgentPrecautions(
  answers: ScreeningAnswers,
  interview: Interview,
): readonly { id: string; name: string; how: string }[] {
  return precautionsOf(answers, interview).flatMap(({ id, name, rules }) =>
    rules.filter(({ stop }) => stop).map(({ how }) => ({ id, name, how })),
  );
}

/** Rule SCREEN-11: what prevents saving an interview: questions that are open, unknown, or lack details. */
function refusalsOf(given: ScreeningAnswers, open: readonly Precaution[], interview: Interview): Refusal[] {
  const known = interview.precautions.map(({ id }) => id);
  return [
    ...open.map(({ id, name }) => ({
      code: 'question-unanswered' as const,
      field: `answers.${id}`,
      about: name,
    })),
    ...missingDetails(given, interview).map(({ id, name }) => ({
      code: 'details-missing' as const,
      field: `answers.${id}.details`,
      about: name,
    })),
    ...Object.keys(given)
      .filter((id) => !known.includes(id))
      .map((id) => ({ code: 'no-such-question' as const, field: `answers.${id}` })),
  ];
}

async function requireMayBeAddedTo(actor: Actor, chart: Chart, before: TakenScreening | null): Promise<void> {
  if (before === null || isTooOld(before, actor.nowMs)) {
    throw refused('screening-too-old', { field: 'answers' });
  }
  const since = { screenedAtMs: before.oldestAtMs, today: clinicDayOf(actor), path: 'answers' };
  await requireScreenedSince(chart, since);
}

/** Rule SCREEN-8: a program is not resumed while something that affects all of it has to be evaluated first. */
async function pauseWhatWaits(
  db: Db,
  workshop: ClinicWorkshop,
  actor: Actor,
  { chart, answers }: { chart: Chart; answers: ScreeningAnswers },
): Promise<void> {
  const clinicianId = actor.clinician.id;
  const patientId = chart.patient.id;
  for (const { id: prescriptionId, state } of await chart.programs()) {
    if (state !== 'active') continue;
    const [newest] = await chart.versions(prescriptionId);
    const content = newest?.content == null ? {} : JSON.parse(newest.content);
    const first = openFindings(content, answers, workshop, clinicDayOf(actor)).find(
      ({ rule }) => rule.everything && rule.measure !== 'change',
    );
    if (first === undefined) continue;
    const reason = first.precaution.name;
    await changeState(db, { prescriptionId, state: 'paused', clinicianId, reason, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId, subject: prescriptionId, action: 'prescription-paused' });
  }
}
