import { weekdays } from '../../prescription/content.js';
import { type Fields, field, treeOf } from './fields.js';

/** Program settings that are text; every other program field is a number. */
const wordFields = new Set([
  'title',
  'language',
  'voice',
  'coaching',
  'exercise',
  'side',
  'note',
  'name',
  'sayAs',
  'surface',
  'headSupport',
  'knees',
  'which',
  'direction',
]);

/**
 * The content of a prescription from the form, not yet validated: fields `program.…`, `timesADay`, `daysAWeek`,
 * `timesOfDay.…`, `weekdays.…`, `startsOn`, `endsOn`, `reviewOn` and `easier.…`. Numbers are converted; anything else
 * stays as typed, for validation to report.
 */
export function contentFromForm(fields: Fields): Record<string, unknown> {
  const program = converted(treeOf(fields, 'program.'));
  const { exercises, ...settings } = program;
  return {
    format: 'stillcount-prescription/1',
    timesADay: numberOrText(field(fields, 'timesADay')),
    daysAWeek: numberOrText(field(fields, 'daysAWeek')),
    timesOfDay: timesUnder(fields, 'timesOfDay.'),
    ...weekdayTimesOf(fields),
    startsOn: field(fields, 'startsOn') || undefined,
    endsOn: field(fields, 'endsOn') || undefined,
    reviewOn: field(fields, 'reviewOn') || undefined,
    ...easierOf(fields),
    settlements: settlementsOf(fields),
    program: {
      format: 'stillcount-program/1',
      ...settings,
      exercises: inOrder(exercises),
    },
  };
}

/** She may enter them in any order. */
function timesUnder(fields: Fields, prefix: string): unknown[] {
  return Object.values(treeOf(fields, prefix)).sort();
}

/** Weekdays that differ: fields `weekdays.DAY.how` and, for different times, `weekdays.DAY.times.…`. */
function weekdayTimesOf(fields: Fields): { weekdayTimes?: Record<string, unknown[]> } {
  const differing = weekdays.flatMap((weekday) => {
    const how = field(fields, `weekdays.${weekday}.how`);
    if (how !== 'none' && how !== 'own') return [];
    const times = how === 'own' ? timesUnder(fields, `weekdays.${weekday}.times.`) : [];
    // Different times that are not entered yet do not mean a day off: an empty one takes their place, and cannot be
    // signed.
    return [[weekday, how === 'own' && times.length === 0 ? [''] : times]];
  });
  return differing.length === 0 ? {} : { weekdayTimes: Object.fromEntries(differing) };
}

/** Fields `easier.…`; omitted if neither is given, as in a version from before the option existed. */
function easierOf(fields: Fields): { easier?: object } {
  const shorterMinutes = numberOrText(field(fields, 'easier.shorterMinutes'));
  const lighter = field(fields, 'easier.lighter') === 'yes';
  return shorterMinutes === undefined && !lighter ? {} : { easier: { shorterMinutes, lighter } };
}

/** Fields `settlements.RULE.…`; a finding without input has no settlement yet. */
function settlementsOf(fields: Fields): Record<string, unknown> {
  return Object.fromEntries(
    Object.entries(treeOf(fields, 'settlements.')).flatMap(([rule, settled]) => {
      if (typeof settled === 'string') return [];
      const { exercises, answered, isArranged, also, nowExercises, nowAnswered, ...texts } = settled;
      if (isArranged === undefined && Object.keys(texts).length === 0) return [];
      const holdsNow = also === 'yes';
      const ids = holdsNow ? nowExercises : exercises;
      const covered = typeof ids === 'string' ? ids.split(' ') : [];
      const answer = (holdsNow ? nowAnswered : answered) ?? '';
      return [[rule, { exercises: covered, answered: answer, isArranged: isArranged === 'yes', ...texts }]];
    }),
  );
}

/**
 * What a button of the exercise list requests: `up:2`, `down:2`, `move:2:0`, `remove:2`, `add:ID` or `leave-out:ID ID`
 * for all of these exercises.
 *
 * @param placeFor where an exercise is added, by the ids of the existing ones
 */
export function applyListAction(
  content: Record<string, unknown>,
  action: string,
  placeFor: PlaceFor,
): Record<string, unknown> {
  const program = content.program;
  if (typeof program !== 'object' || program === null || !('exercises' in program)) return content;
  const exercises: unknown[] = Array.isArray(program.exercises) ? program.exercises : [];
  return { ...content, program: { ...program, exercises: listAfter(exercises, action, placeFor) } };
}

type PlaceFor = (added: string, ids: readonly string[]) => number;

function listAfter(exercises: readonly unknown[], action: string, placeFor: PlaceFor): unknown[] {
  const [what, from, to] = action.split(':');
  if (what === 'add' && from !== undefined) {
    return exercises.toSpliced(placeFor(from, exercises.map(exerciseOf)), 0, { exercise: from });
  }
  if (what === 'leave-out') {
    const left = (from ?? '').split(' ');
    return exercises.filter((entry) => !left.includes(exerciseOf(entry)));
  }
  const at = Number(from);
  if (!(at in exercises)) return [...exercises];
  const target = { up: at - 1, down: at + 1, move: Number(to) }[what ?? ''];
  const others = exercises.toSpliced(at, 1);
  if (what === 'remove') return others;
  return target !== undefined && target in exercises
    ? others.toSpliced(target, 0, exercises[at])
    : [...exercises];
}

function exerciseOf(entry: unknown): string {
  return typeof entry === 'object' && entry !== null && 'exercise' in entry ? String(entry.exercise) : '';
}

function converted(tree: object): Record<string, unknown> {
  return Object.fromEntries(
    Object.entries(tree).map(([key, value]: [string, unknown]) => {
      if (typeof value === 'object' && value !== null) return [key, converted(value)];
      if (key === 'isNew') return [key, value === 'yes'];
      return [key, typeof value === 'string' && !wordFields.has(key) ? numberOrText(value) : value];
    }),
  );
}

function numberOrText(text: string): number | string | undefined {
  if (text === '') return undefined;
  return /^-?\d+([.,]\d+)?$/.test(text) ? Number(text.replace(',', '.')) : text;
}

/** Entries `0`, `1`, `2` … as a list. */
function inOrder(entries: unknown): unknown[] {
  if (typeof entries !== 'object' || entries === null) return [];
  return Object.entries(entries)
    .sort(([a], [b]) => Number(a) - Number(b))
    .map(([, entry]) => entry);
}
