import { lyingDownAndGettingUpId } from '../catalogue/adaptation.js';
import type { SetUp } from '../catalogue/setUp.js';
import { speak } from '../catalogue/template.js';
import type { AppliedAdaptation, PrescribedExercise, PrescribedProgram } from './prescribed.js';
import { sessionView } from './sessionView.js';

type Numbers = Readonly<Record<string, number>>;

/**
 * Rule DOSE-2: from the least to the most protective; where several adaptations differ, the most protective wins (our
 * choice, no source). A person who needs the head end raised may have trouble with breathing or vision when lying
 * lower; lying higher than another rule asks only makes the neck less straight. More support under the knees means less
 * pull on the low back.
 */
const byProtection: { readonly [Key in keyof SetUp]: readonly SetUp[Key][] } = {
  surface: ['bed', 'firm-bed'],
  headSupport: ['none', 'folded-towel', 'thin-pillow', 'pillow', 'raised-head-end'],
  knees: ['straight', 'bent', 'over-pillow'],
};

/**
 * Rule DOSE-1: applies settled precautions. Every exercise that an adaptation applies to gets its dose reduced to the
 * lowest ceiling and its set-up changed. A dose never increases, and never goes below the limits of its exercise. It
 * starts from what the clinician wrote, so that the same list always gives the same program and an empty list undoes
 * everything.
 *
 * @param applied the adaptations, one per rule, in any order
 */
export function adaptProgram(
  program: PrescribedProgram,
  applied: readonly AppliedAdaptation[],
): PrescribedProgram {
  // Clearances first, then by rule, so that the order of settling has no effect.
  const inOrder = [...applied].sort((a, b) => (orderOf(a) < orderOf(b) ? -1 : 1));
  const exercises = program.exercises.map((prescribed) => adaptExercise(prescribed, inOrder));
  const written = program.asPrescribed.setUp;
  const setUp = { ...written, ...changedAtStart(exercises) };
  return {
    ...program,
    exercises: exercises.map((each) => withSaid(program, onTheSameBed(each, written, setUp))),
    setUp,
    adaptations: inOrder,
  };
}

/** Returns the adaptations for lying down and getting up, which may not be part of any exercise. */
export function adaptationsOfTheWay({ adaptations }: PrescribedProgram): readonly AppliedAdaptation[] {
  return adaptations.filter(({ exercises }) => exercises.includes(lyingDownAndGettingUpId));
}

/** Returns an exercise's dose under the adaptations that apply to it. */
export function doseUnder(
  dose: Numbers,
  limits: Readonly<Record<string, { min: number } | undefined>>,
  adaptations: readonly AppliedAdaptation[],
): Record<string, number> {
  return Object.fromEntries(
    Object.entries(dose).map(([key, value]) => {
      const ceiling = lowestCeiling(key, adaptations);
      // Doses are whole numbers; limits may not be.
      const least = Math.ceil(limits[key]?.min ?? value);
      return [key, ceiling === null ? value : Math.min(value, Math.max(least, ceiling))];
    }),
  );
}

/** Returns the lowest ceiling on a dose number, or null where there is none. */
export function lowestCeiling(key: string, adaptations: readonly AppliedAdaptation[]): number | null {
  const ceilings = adaptations.flatMap(({ adaptation }) => {
    const atMost: Readonly<Record<string, number | undefined>> = adaptation.atMost ?? {};
    return atMost[key] ?? [];
  });
  return ceilings.length === 0 ? null : Math.min(...ceilings);
}

function orderOf({ measure, ruleId }: AppliedAdaptation): string {
  return `${measure === 'clearance' ? 0 : 1} ${ruleId}`;
}

/**
 * Returns the sentence that an adaptation adds for this way of lying, filled with the program's values; null for none.
 */
export function spokenAdaptationText(
  program: PrescribedProgram,
  { adaptation: { say } }: Pick<AppliedAdaptation, 'adaptation'>,
  setUp: SetUp,
): string | null {
  return say === undefined ? null : speak(say.full, sessionView(program, setUp, setUp.knees));
}

/** Adds the sentences of an exercise's adaptations, for its final set-up. */
function withSaid(program: PrescribedProgram, prescribed: PrescribedExercise): PrescribedExercise {
  const adaptations = prescribed.adaptations.map((each) => ({
    ...each,
    said: spokenAdaptationText(program, each, prescribed.setUp),
  }));
  return { ...prescribed, adaptations };
}

function adaptExercise(
  prescribed: PrescribedExercise,
  applied: readonly AppliedAdaptation[],
): PrescribedExercise {
  const { exercise, asPrescribed } = prescribed;
  const adaptations = applied.filter(({ exercises }) => exercises.includes(exercise.id));
  const met = adaptations.map((each) => ({ ...each, said: null }));
  const changed = { ...prescribed, setUp: setUpUnder(prescribed, adaptations), adaptations: met };
  const dose = { ...asPrescribed.dose, ...doseUnder(asPrescribed.dose, exercise.limits, adaptations) };
  // Only numbers that the dose has became smaller, so that its shape is the same.
  return { ...changed, dose } as PrescribedExercise;
}

function setUpUnder(
  { exercise, asPrescribed }: PrescribedExercise,
  adaptations: readonly AppliedAdaptation[],
): SetUp {
  const written = asPrescribed.setUp;
  const knees = mostProtective('knees', adaptations);
  const legs = exercise.path.from.legs;
  // The set-up must not claim a knee position that the exercise does not allow.
  const canLieSo = knees !== null && (legs === undefined || legs.includes(knees));
  return {
    surface: mostProtective('surface', adaptations) ?? written.surface,
    // A head end that the clinician raised stays raised, whatever a rule says about pillows.
    headSupport:
      written.headSupport === 'raised-head-end'
        ? written.headSupport
        : (mostProtective('headSupport', adaptations) ?? written.headSupport),
    knees: canLieSo ? knees : written.knees,
  };
}

function mostProtective<Key extends keyof SetUp>(
  key: Key,
  adaptations: readonly AppliedAdaptation[],
): SetUp[Key] | null {
  const requested = adaptations.flatMap(({ adaptation }) => adaptation.setUp?.[key] ?? []);
  return byProtection[key].findLast((each) => requested.some((other) => other === each)) ?? null;
}

/**
 * Nobody changes the bed or the head support in the middle of a session, so an exercise with the program's own set-up
 * follows the program's changed set-up.
 */
function onTheSameBed(
  prescribed: PrescribedExercise,
  written: SetUp,
  { surface, headSupport }: SetUp,
): PrescribedExercise {
  const { setUp, asPrescribed } = prescribed;
  const goesAlong = (key: 'surface' | 'headSupport') =>
    setUp[key] === written[key] && asPrescribed.setUp[key] === written[key];
  return {
    ...prescribed,
    setUp: {
      ...setUp,
      ...(goesAlong('surface') ? { surface } : {}),
      ...(goesAlong('headSupport') ? { headSupport } : {}),
    },
  };
}

/** Returns the changed set-up at the start: the listener lies down as for the first exercise on the back. */
function changedAtStart(exercises: readonly PrescribedExercise[]): Partial<SetUp> {
  const first = exercises.find(({ exercise }) => exercise.path.from.position === 'supine');
  if (first === undefined) return {};
  const { setUp, asPrescribed } = first;
  return {
    ...(setUp.surface === asPrescribed.setUp.surface ? {} : { surface: setUp.surface }),
    ...(setUp.headSupport === asPrescribed.setUp.headSupport ? {} : { headSupport: setUp.headSupport }),
    ...(setUp.knees === asPrescribed.setUp.knees ? {} : { knees: setUp.knees }),
  };
}
