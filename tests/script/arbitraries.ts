import fc from 'fast-check';
import type { Catalogue } from '../../src/catalogue/catalogue.js';
import type { Exercise, TimingShape } from '../../src/catalogue/schema.js';
import { pathProblems } from '../../src/program/path.js';
import type { ClipMeasure, MeasureWordings } from '../../src/script/measure.js';

/**
 * Programs as a clinician could write them, every dose inside its limits, from the real catalogue.
 *
 * @param timings only exercises of these timing shapes; all when left out
 */
export function programs(
  catalogue: Catalogue,
  timings?: readonly TimingShape[],
): fc.Arbitrary<Record<string, unknown>> {
  const exercises = [...catalogue.exercises.values()].filter(
    ({ timing }) => timings === undefined || timings.includes(timing),
  );
  return fc.record(
    {
      format: fc.constant('stillcount-program/1'),
      title: fc.constant('Generated'),
      listener: fc.constantFrom({ name: 'Rosa' }, { name: 'Emil' }),
      breath: fc.record({
        inSeconds: fc.constantFrom(3, 4, 4.5, 5),
        pauseAfterInSeconds: fc.constantFrom(0, 0, 1),
        outSeconds: fc.constantFrom(4, 5, 6, 7.3),
        pauseAfterOutSeconds: fc.constantFrom(0, 0, 2),
      }),
      setUp: fc.record({
        surface: fc.constantFrom('bed', 'firm-bed'),
        headSupport: fc.constantFrom('none', 'folded-towel', 'thin-pillow', 'pillow', 'raised-head-end'),
        knees: fc.constantFrom('straight', 'bent', 'over-pillow'),
      }),
      counting: fc.record({
        which: fc.constantFrom('all', 'last-five', 'none'),
        direction: fc.constantFrom('down', 'up'),
      }),
      changeTimes: fc.record(
        {
          lyingDownSeconds: fc.integer({ min: 10, max: 180 }),
          sittingUpSeconds: fc.integer({ min: 10, max: 180 }),
          rollingSeconds: fc.integer({ min: 4, max: 60 }),
          placingSeconds: fc.integer({ min: 5, max: 60 }),
          movingLegsSeconds: fc.integer({ min: 2, max: 30 }),
        },
        { requiredKeys: [] },
      ),
      coaching: fc.constantFrom('full', 'fading', 'quiet'),
      presenceEverySeconds: fc.integer({ min: 10, max: 120 }),
      session: fc.record({ number: fc.integer({ min: 1, max: 40 }), seed: fc.integer({ min: 0, max: 99 }) }),
      exercises: fc
        .array(fc.constantFrom(...exercises).chain(entries), { minLength: 1, maxLength: 6 })
        .map((list) => possibleOf(list, catalogue)),
    },
    { requiredKeys: ['format', 'title', 'exercises', 'session'] },
  );
}

/** What of a list can be done in its order, from standing beside the bed. */
function possibleOf(list: Record<string, unknown>[], catalogue: Catalogue): Record<string, unknown>[] {
  const kept: { entry: Record<string, unknown>; exercise: Exercise }[] = [];
  for (const entry of list) {
    const exercise = catalogue.exercises.get(String(entry.exercise));
    if (exercise === undefined) continue;
    if (pathProblems([...kept.map((each) => each.exercise), exercise]).length > 0) continue;
    kept.push({ entry, exercise });
  }
  return kept.map(({ entry }) => entry);
}

function entries(exercise: Exercise): fc.Arbitrary<Record<string, unknown>> {
  const limits: Readonly<Record<string, { min: number; max: number }>> = exercise.limits;
  const dose = Object.fromEntries(
    Object.entries(limits).map(([key, { min, max }]) => [
      key,
      fc.integer({ min: Math.ceil(min), max: Math.floor(key === 'sets' ? Math.min(max, 2) : max) }),
    ]),
  );
  return fc.record(
    {
      exercise: fc.constant(exercise.id),
      dose: fc.record(dose, { requiredKeys: [] }),
      isNew: fc.boolean(),
      setUp: fc.record({ knees: fc.constantFrom('straight', 'bent', 'over-pillow') }),
      ...(exercise.sidedness === 'one-side'
        ? { side: fc.constantFrom('left', 'right', 'both', 'alternate') }
        : {}),
    },
    { requiredKeys: ['exercise'] },
  );
}

/**
 * Clip lengths as some voice might have them: a different but fixed length for every wording, between the
 * two given milliseconds a word.
 */
export function voiceOf(seed: number, perWordMs: { min: number; max: number }): MeasureWordings {
  return async (wordings) => new Map(wordings.map(({ text }) => [text, clipOf(text, seed, perWordMs)]));
}

/** How long a voice takes for a wording, and where its beat lies. */
export function clipOf(text: string, seed: number, perWordMs: { min: number; max: number }): ClipMeasure {
  let state = seed;
  for (const character of text) state = (Math.imul(state, 31) + character.charCodeAt(0)) >>> 0;
  const next = () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
  const words = text.split(/\s+/).length;
  const durationMs = Math.round(words * (perWordMs.min + next() * (perWordMs.max - perWordMs.min)));
  return { durationMs, beatOffsetMs: Math.round(Math.min(durationMs, 20 + next() * 180)) };
}
