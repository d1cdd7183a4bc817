import type { PrescribedExercise } from '../program/prescribed.js';
import { hasText } from '../screening/hasText.js';
import type { Settlement, Settlements } from '../screening/settlements.js';
import { adaptationLines } from './adaptationWords.js';
import { changeTimeKeys, changeTimeNames } from './changeTimeWords.js';
import { type Easier, type ReadPrescription, type Timetable, type Weekday, weekdays } from './content.js';
import { isoDayInWords, timeOfDayInWords } from './datesInWords.js';
import { doseName, doseValue, secondsInWords } from './doseWords.js';

/** One difference between two versions, in words for the clinician. */
export type Difference = {
  /** What it is about: an exercise, a setting, a precaution. */
  where: string;
  /** The change as a phrase that can follow `where`: "hold 6 s (was 5 s)", "added". */
  change: string;
};

/** The word for a value that is not set; "none (was 5 s)" and "5 s (was none)" both read well. */
const absent = 'none';

/**
 * Lists every difference that changes what the patient does or hears, or how a precaution was settled, in the order of
 * the newer version.
 *
 * @param ruleName returns the name of a precaution's rule by its id
 */
export function differences(
  before: ReadPrescription,
  after: ReadPrescription,
  ruleName: (ruleId: string) => string,
): Difference[] {
  return [
    ...timetableDifferences(before, after),
    ...easierDifferences(before.easier, after.easier),
    ...settingDifferences(before, after),
    ...exerciseDifferences(before, after),
    ...settlementDifferences(before.settlements, after.settlements, ruleName, exerciseNames(before, after)),
  ];
}

function timetableDifferences(before: Timetable, after: Timetable): Difference[] {
  return [
    ...changed('How often', 'sessions a day', before.timesADay, after.timesADay),
    ...changed('How often', 'days a week', before.daysAWeek, after.daysAWeek),
    ...changed('How often', 'times', timesInWords(before.timesOfDay), timesInWords(after.timesOfDay)),
    ...weekdays.flatMap((weekday) =>
      changed(
        'How often',
        `${nameOf(weekday)}s`,
        weekdayInWords(before, weekday),
        weekdayInWords(after, weekday),
      ),
    ),
    ...changed('How long', 'first day', dayOrNone(before.startsOn), dayOrNone(after.startsOn)),
    ...changed('How long', 'last day', dayOrNone(before.endsOn), dayOrNone(after.endsOn)),
    ...changed('How long', 'review date', dayOrNone(before.reviewOn), dayOrNone(after.reviewOn)),
  ];
}

function easierDifferences(before: Easier, after: Easier): Difference[] {
  const shorter = ({ shorterMinutes }: Easier) => budget(shorterMinutes ?? undefined);
  return [
    ...changed('On a hard day', 'shorter session', shorter(before), shorter(after)),
    ...changed('On a hard day', 'lighter session', yesOrNo(before.lighter), yesOrNo(after.lighter)),
  ];
}

function exerciseNames(...versions: readonly ReadPrescription[]): ReadonlyMap<string, string> {
  const all = versions.flatMap(({ program }) => program.exercises);
  return new Map(all.map(({ exercise }) => [exercise.id, exercise.name]));
}

function settlementDifferences(
  before: Settlements,
  after: Settlements,
  ruleName: (ruleId: string) => string,
  names: ReadonlyMap<string, string>,
): Difference[] {
  const ids = new Set([...Object.keys(before), ...Object.keys(after)]);
  return [...ids].flatMap((id) => {
    const [from, to] = [settledHow(before[id], names), settledHow(after[id], names)];
    return from === to ? [] : [{ where: ruleName(id), change: changeOf(from, to) }];
  });
}

/**
 * Describes a settlement by how it was settled, for what and after which answer; a change in any of them is a
 * difference.
 */
function settledHow(settlement: Settlement | undefined, names: ReadonlyMap<string, string>): string {
  if (settlement === undefined) return 'not resolved';
  const { exercises, answered, isArranged, clearedBy, clearedOn, reason } = settlement;
  const how = hasText(reason)
    ? `done otherwise, ${reason}`
    : hasText(clearedBy)
      ? `cleared by ${clearedBy}${clearedOn === '' ? '' : ` on ${isoDayInWords(clearedOn)}`}`
      : isArranged
        ? 'modified as advised'
        : 'not resolved';
  const scope = [exercises.map((id) => names.get(id) ?? id).join(', '), answered].filter(
    (part) => part !== '',
  );
  return scope.length === 0 ? how : `${how} (${scope.join('; ')})`;
}

function settingDifferences(before: ReadPrescription, after: ReadPrescription): Difference[] {
  const [a, b] = [before.program, after.program];
  return [
    ...changed('Program', 'title', a.title, b.title),
    ...changed('Program', 'language', a.language, b.language),
    ...changed('Program', 'spoken name', quoted(a.listener?.name), quoted(b.listener?.name)),
    ...changed('Program', 'name spoken as', quoted(a.listener?.sayAs), quoted(b.listener?.sayAs)),
    ...changed('Program', 'voice', a.voice, b.voice),
    ...changed('Program', 'words a minute', a.wordsPerMinute, b.wordsPerMinute),
    ...changed('Program', 'pronunciations', listed(a.pronunciations), listed(b.pronunciations)),
    ...changed('Breath', 'in', secondsInWords(a.breath.inSeconds), secondsInWords(b.breath.inSeconds)),
    ...changed(
      'Breath',
      'pause after in',
      secondsInWords(a.breath.pauseAfterInSeconds),
      secondsInWords(b.breath.pauseAfterInSeconds),
    ),
    ...changed('Breath', 'out', secondsInWords(a.breath.outSeconds), secondsInWords(b.breath.outSeconds)),
    ...changed(
      'Breath',
      'pause after out',
      secondsInWords(a.breath.pauseAfterOutSeconds),
      secondsInWords(b.breath.pauseAfterOutSeconds),
    ),
    ...changed('Set-up', 'surface', a.asPrescribed.setUp.surface, b.asPrescribed.setUp.surface),
    ...changed('Set-up', 'head support', a.asPrescribed.setUp.headSupport, b.asPrescribed.setUp.headSupport),
    ...changed('Set-up', 'knees', a.asPrescribed.setUp.knees, b.asPrescribed.setUp.knees),
    ...changeTimeKeys.flatMap((key) =>
      changed(
        'Time for position changes',
        changeTimeNames[key],
        secondsInWords(a.changeTimes[key]),
        secondsInWords(b.changeTimes[key]),
      ),
    ),
    ...changed('Counting', 'which seconds', a.counting.which, b.counting.which),
    ...changed('Counting', 'direction', a.counting.direction, b.counting.direction),
    ...changed('Program', 'reminders', a.coaching, b.coaching),
    ...changed(
      'Program',
      'soft sound every',
      secondsInWords(a.presenceEverySeconds),
      secondsInWords(b.presenceEverySeconds),
    ),
    ...changed('Program', 'time budget', budget(a.timeBudgetMinutes), budget(b.timeBudgetMinutes)),
    ...changed('Session', 'number', a.session.number, b.session.number),
    ...changed('Session', 'wording seed', a.session.seed, b.session.seed),
  ];
}

/** Compares the exercises; two entries of the same exercise are kept separate. */
function exerciseDifferences(before: ReadPrescription, after: ReadPrescription): Difference[] {
  const old = keyExercises(before.program.exercises);
  const current = keyExercises(after.program.exercises);
  const added = [...current].filter(([key]) => !old.has(key));
  const removed = [...old].filter(([key]) => !current.has(key));
  const doseChanges = [...current].flatMap(([key, now]): Difference[] => {
    const then = old.get(key);
    return then === undefined ? [] : doseDifferences(then, now);
  });
  const orderBefore = [...old.keys()].filter((key) => current.has(key));
  const orderAfter = [...current.keys()].filter((key) => old.has(key));
  const names = (keys: readonly string[]) =>
    keys.map((key) => current.get(key)?.exercise.name ?? key).join(', ');
  return [
    ...removed.map(([, { exercise }]) => ({ where: exercise.name, change: 'removed' })),
    ...added.map(([, { exercise }]) => ({ where: exercise.name, change: 'added' })),
    ...doseChanges,
    ...(orderBefore.join() === orderAfter.join()
      ? []
      : [{ where: 'Order', change: changeOf(names(orderBefore), names(orderAfter)) }]),
  ];
}

/** Returns the exercises by id and by the number of earlier entries with that id. */
export function keyExercises(exercises: readonly PrescribedExercise[]): Map<string, PrescribedExercise> {
  const seen = new Map<string, number>();
  return new Map(
    exercises.map((prescribed) => {
      const count = (seen.get(prescribed.exercise.id) ?? 0) + 1;
      seen.set(prescribed.exercise.id, count);
      return [`${prescribed.exercise.id} ${count}`, prescribed];
    }),
  );
}

function doseDifferences(before: PrescribedExercise, now: PrescribedExercise): Difference[] {
  const where = now.exercise.name;
  const [then, current] = [before.asPrescribed, now.asPrescribed];
  const [a, b]: Readonly<Record<string, number>>[] = [then.dose, current.dose];
  const doses = Object.entries(b ?? {}).flatMap(([key, value]) => {
    const old = a?.[key];
    const from = old === undefined ? absent : doseValue(key, old);
    return changed(where, doseName(key), from, doseValue(key, value));
  });
  return [
    ...doses,
    ...changed(where, 'side', before.side ?? absent, now.side ?? absent),
    ...changed(where, 'surface', then.setUp.surface, current.setUp.surface),
    ...changed(where, 'head support', then.setUp.headSupport, current.setUp.headSupport),
    ...changed(where, 'knees', then.setUp.knees, current.setUp.knees),
    ...changed(where, 'spoken note', quoted(before.note), quoted(now.note)),
    ...changed(where, 'explained as new', yesOrNo(before.isNew), yesOrNo(now.isNew)),
    ...adaptationDifferences(before, now),
  ];
}

/** Returns the differences that come from precautions, separate from the prescription itself. */
function adaptationDifferences(before: PrescribedExercise, now: PrescribedExercise): Difference[] {
  const [old, current] = [adaptationLines(before), adaptationLines(now)];
  return [...new Set([...old.keys(), ...current.keys()])].flatMap((ruleId) => {
    const precaution = (current.get(ruleId) ?? old.get(ruleId))?.precaution ?? ruleId;
    const changes = (lines: typeof old) => lines.get(ruleId)?.changes ?? 'not adapted';
    return changed(now.exercise.name, `because of ${precaution}:`, changes(old), changes(current));
  });
}

function changed(where: string, what: string, from: string | number, to: string | number): Difference[] {
  return from === to ? [] : [{ where, change: `${what} ${changeOf(String(from), String(to))}` }];
}

function changeOf(from: string, to: string): string {
  return `${to} (was ${from})`;
}

/** Quotes the clinician's own words, so that they are never mistaken for a value that is not set. */
function quoted(words: string | null | undefined): string {
  return words == null ? absent : `“${words}”`;
}

function dayOrNone(day: string | null): string {
  return day === null ? absent : isoDayInWords(day);
}

function timesInWords(times: readonly string[]): string {
  return times.length === 0 ? 'the usual times' : times.map((time) => timeOfDayInWords(time)).join(', ');
}

function weekdayInWords({ weekdayTimes }: Timetable, weekday: Weekday): string {
  const times = weekdayTimes[weekday];
  if (times === undefined) return 'as on other days';
  return times.length === 0 ? 'no session' : timesInWords(times);
}

function nameOf(weekday: Weekday): string {
  return weekday.charAt(0).toUpperCase() + weekday.slice(1);
}

function budget(minutes: number | undefined): string {
  return minutes === undefined ? absent : `${minutes} min`;
}

function yesOrNo(value: boolean): string {
  return value ? 'yes' : 'no';
}

function listed(pronunciations: Readonly<Record<string, string>>): string {
  const entries = Object.entries(pronunciations).sort(([a], [b]) => (a < b ? -1 : 1));
  return entries.length === 0 ? absent : entries.map(([word, spelling]) => `${word}: ${spelling}`).join(', ');
}
