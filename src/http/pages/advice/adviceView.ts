import { type Actor, clinicDayOf } from '../../../clinic/actor.js';
import {
  type AdviceNamed,
  type AdviceNow,
  applyAdvisedDose,
  computeAdvice,
  isAnswerTo,
  readNewestVersion,
} from '../../../clinic/followup/advice.js';
import type { HistoryResources } from '../../../clinic/followup/readHistory.js';
import { describeStoredAdvice } from '../../../clinic/followup/storedAdvice.js';
import type { Chart } from '../../../clinic/people/chart.js';
import { linePicture } from '../../../documents/pictures/linePicture.js';
import type { Advised, ExerciseAdvice, ProgramAdvice } from '../../../followup/adviceParts.js';
import type { History } from '../../../followup/history.js';
import { readKeptAdvice } from '../../../followup/keptAdvice.js';
import { isPendingAlone, isReviewedWhole } from '../../../followup/pendingAdvice.js';
import { differences } from '../../../prescription/differences.js';
import { doseInWords, doseName, doseValue } from '../../../prescription/doseWords.js';
import { clinicCatalogue, readOrNull, ruleNames } from '../../../prescription/programFindings.js';
import { resolveSettlements } from '../../../prescription/resolveSettlements.js';
import { isoDayIn } from '../../../schedule/wallClock.js';
import type { ScreeningAnswers } from '../../../screening/answers.js';
import { changesInWords, conditionView, reasonOf } from '../../../text/adviceWords.js';
import { dateInWords, dayInWords, timeInWords } from '../../../text/dates.js';
import type { HttpResources } from '../../server/resources.js';

/** The input of a form that was refused, and the advice it belongs to. */
export type TypedAnswer = AdviceNamed & { do: string; reason: string };

const shownAnswers = 30;

/**
 * The advice on a patient's programs, for the partials `advice-summary` and `advice-program`: fields `hasAdvice`,
 * `advicePrograms`, `adviceAnswers`.
 *
 * @param history if the caller has already read it
 * @param typed input that was refused
 */
export async function adviceView(
  service: HistoryResources & Pick<HttpResources, 'words'>,
  request: Actor,
  chart: Chart,
  { history, typed = null }: { history?: History; typed?: TypedAnswer | null } = {},
): Promise<object> {
  const now = await computeAdvice(service, chart, history);
  const { words } = service;
  const answers = (await chart.screening())?.answers ?? null;
  const next = { chart, answers, today: clinicDayOf(request) };
  const programs = await Promise.all(
    now.programs.map((each) => programView(service, each, now, typed, next)),
  );
  const titles = new Map(now.history.programs.map(({ prescriptionId, title }) => [prescriptionId, title]));
  return {
    hasAdvice: programs.length > 0,
    advicePrograms: programs,
    hasAdviceAnswers: now.answers.length > 0,
    adviceAnswers: now.answers.slice(0, shownAnswers).map((answer) => {
      return {
        answer: words.advice.answers[answer.answer],
        ...describeStoredAdvice(readKeptAdvice(answer.advice), service),
        program: titles.get(answer.prescriptionId) ?? '',
        version: answer.versionNumber,
        newVersion: answer.newVersionNumber,
        reason: answer.reason,
        by: answer.clinicianName,
        when: timeInWords(answer.atMs, request.clinician.clinicZone),
      };
    }),
  };
}

async function programView(
  service: Pick<HttpResources, 'workshop' | 'words'>,
  program: ProgramAdvice,
  now: AdviceNow,
  typed: TypedAnswer | null,
  next: SignedNext,
): Promise<object> {
  const { words, workshop } = service;
  const { whole, prescriptionId, versionNumber, painCourse, series } = program;
  const beside = { words, progression: workshop.progression, ruleId: null };
  const exercises = await Promise.all(
    program.exercises.map((advice) => exerciseView(service, { advice, program, now, typed, next })),
  );
  return {
    prescriptionId,
    versionNumber,
    programTitle: program.title,
    ...kindView(whole, service),
    conditionsOf: program.title,
    conditions: whole.conditions.map((each) => conditionView(each, beside)),
    picture: pictureOf(program, now.history, { words, band: null, sinceMs: null }),
    days: tableOf(series),
    hasDays: series.painAfter.length + series.effort.length > 0,
    painCourse:
      painCourse === null
        ? null
        : {
            words: words.advice.painCourses[painCourse.change],
            from: Math.round(10 * painCourse.from) / 10,
            to: Math.round(10 * painCourse.to) / 10,
          },
    wholeAsked: isReviewedWhole(program)
      ? askedView(service, now, { prescriptionId, versionNumber, exerciseIndex: null, key: whole.key }, typed)
      : null,
    asked: exercises.filter(({ isAsked }) => isAsked),
    others: exercises.filter(({ isAsked }) => !isAsked),
    hasOthers: exercises.some(({ isAsked }) => !isAsked),
  };
}

function kindView({ kind, why }: Pick<Advised, 'kind' | 'why'>, { words }: Pick<HttpResources, 'words'>) {
  return {
    kind: words.advice.kinds[kind],
    why: words.advice.reasons[why],
    isUp: kind === 'step-up',
    isDown: kind === 'step-down',
    isReview: kind === 'review',
    isStay: kind === 'stay',
    isNotYet: why === 'not-yet',
  };
}

/** What a signature would be based on: the newest version and interview, and the day. */
type SignedNext = { chart: Chart; answers: ScreeningAnswers | null; today: string };

type Shown = {
  advice: ExerciseAdvice;
  program: ProgramAdvice;
  now: AdviceNow;
  typed: TypedAnswer | null;
  next: SignedNext;
};

async function exerciseView(
  service: Pick<HttpResources, 'workshop' | 'words'>,
  { advice, program, now, typed, next }: Shown,
) {
  const { words, workshop } = service;
  const { prescriptionId, versionNumber } = program;
  const exercise = clinicCatalogue(workshop).exercises.get(advice.exerciseId);
  const name = exercise?.name ?? advice.exerciseId;
  const rule = workshop.progression.rules.get(advice.ruleId ?? '');
  const isAsked = isPendingAlone(advice);
  const named = { prescriptionId, versionNumber, exerciseIndex: advice.exerciseIndex, key: advice.key };
  const band = rule === undefined ? null : { from: 0, to: rule.numbers.mostEffort.value };
  const beside = { words, progression: workshop.progression, ruleId: advice.ruleId };
  const changes = advice.to === null ? [] : await changesOf(service, advice, prescriptionId, next);
  return {
    ...kindView(advice, service),
    isAsked,
    name,
    place: advice.exerciseIndex + 1,
    dose: doseInWords(advice.dose),
    limits: advice.limits.map(({ precaution, key, ceiling }) => ({
      ...{ precaution, dose: doseName(key), ceiling: doseValue(key, ceiling) },
    })),
    since: dayInWords(advice.sinceMs, now.history.zone),
    rule: exercise?.ladder.rule.trim() ?? null,
    toName: advice.toName,
    changesInShort: changesInWords(advice),
    differences: changes,
    conditionsOf: name,
    conditions: advice.conditions.map((each) => conditionView(each, beside)),
    picture: isAsked ? pictureOf(program, now.history, { words, band, sinceMs: advice.sinceMs }) : null,
    answering: isAsked
      ? {
          ...askedView(service, now, named, typed),
          reason: typedFor(typed, named, 'accept')?.reason ?? reasonOf(advice, name, words),
        }
      : null,
  };
}

/** The forms of one piece of advice, and earlier answers to it. */
function askedView(
  { words }: Pick<HttpResources, 'words'>,
  { answers, history }: AdviceNow,
  named: AdviceNamed,
  typed: TypedAnswer | null,
) {
  const answer = answers.find((each) => isAnswerTo(each, named));
  return {
    ...named,
    exerciseIndex: named.exerciseIndex ?? '',
    id: `${named.prescriptionId}-${named.exerciseIndex ?? 'whole'}`,
    // A clinician who opened it for editing may have discarded that draft: it is shown again until a version results
    // from it.
    isOpen: answer === undefined || answer.answer === 'edited',
    answered:
      answer === undefined
        ? null
        : {
            words: words.advice.answers[answer.answer],
            by: answer.clinicianName,
            when: timeInWords(answer.atMs, history.zone),
            said: answer.reason,
          },
    declineReason: typedFor(typed, named, 'decline')?.reason ?? '',
    isDeclining: typedFor(typed, named, 'decline') !== undefined,
    lookedAtReason: typedFor(typed, named, 'looked-at')?.reason ?? '',
  };
}

function typedFor(typed: TypedAnswer | null, named: AdviceNamed, what: string): TypedAnswer | undefined {
  const isIt =
    typed?.do === what &&
    typed.prescriptionId === named.prescriptionId &&
    typed.exerciseIndex === named.exerciseIndex;
  return isIt ? typed : undefined;
}

/** What the next version would change, in the words used for comparing versions. */
async function changesOf(
  { workshop }: Pick<HttpResources, 'workshop'>,
  advice: ExerciseAdvice,
  prescriptionId: string,
  { chart, answers, today }: SignedNext,
): Promise<object[]> {
  const newest = await readNewestVersion(chart, prescriptionId);
  if (newest.content === null) return [];
  const content = JSON.parse(newest.content);
  const signed = resolveSettlements(applyAdvisedDose(content, advice), answers, workshop, today);
  const [before, after] = [readOrNull(content, workshop), readOrNull(signed, workshop)];
  return before === null || after === null ? [] : differences(before, after, ruleNames(workshop));
}

type Drawn = {
  words: HttpResources['words'];
  band: { from: number; to: number } | null;
  sinceMs: number | null;
};

function pictureOf({ series }: ProgramAdvice, { zone }: History, { words, band, sinceMs }: Drawn): string {
  const { title, about, pain, effort, band: bandName, since, nothing } = words.advice.picture;
  const first = [...series.painAfter, ...series.effort].map(({ day }) => day).sort()[0];
  const sinceDay = sinceMs === null ? null : isoDayIn(sinceMs, zone);
  return linePicture({
    ...{ title, description: about, nothing, size: 'small', valueDomain: { from: 0, to: 10 } },
    series: [
      { name: pain, values: series.painAfter },
      { name: effort, values: series.effort },
    ],
    ...(band === null ? {} : { band: { ...band, name: bandName } }),
    // A dose that began before the period shown needs no mark.
    marks:
      sinceDay !== null && first !== undefined && sinceDay >= first ? [{ day: sinceDay, name: since }] : [],
  });
}

/** Each day with its answers, newest first; several sessions on a day are kept separate. */
function tableOf({ painAfter, effort }: ProgramAdvice['series']): object[] {
  const days = [...new Set([...painAfter, ...effort].map(({ day }) => day))].sort().reverse();
  const on = (values: readonly { day: string; value: number }[], day: string) =>
    values.filter((each) => each.day === day).map(({ value }) => value);
  return days.map((day) => ({
    day: dateInWords(day),
    painAfter: on(painAfter, day).join(', '),
    effort: on(effort, day).join(', '),
  }));
}
