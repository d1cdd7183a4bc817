import type { Exercise } from '../catalogue/schema.js';
import type { SetUp } from '../catalogue/setUp.js';
import type { PrescribedExercise, PrescribedProgram } from '../program/prescribed.js';
import { setUpView } from './exerciseView.js';

/**
 * What the handout of two pages says otherwise than the large one: the set-up once where exercises share it, and of
 * each exercise the two sentences that matter most.
 */
export function compactView({ exercises }: PrescribedProgram) {
  const lying = exercises.filter(({ exercise }) => exercise.path.to === undefined);
  const shared = mostFrequent(lying.map(({ setUp }) => setUp));
  const things = new Set(exercises.flatMap(({ exercise }) => thingsFor(exercise)));
  return {
    ofAll: {
      setUp: shared === null ? null : setUpView(shared),
      things: [...things].join('; '),
      hasThings: things.size > 0,
    },
    ofEach: (prescribed: PrescribedExercise, hasPicture: boolean) => {
      const { exercise, timing, setUp } = prescribed;
      const isOwn = shared !== null && lying.includes(prescribed) && keyOf(setUp) !== keyOf(shared);
      return {
        hasDose: timing !== 'talk',
        ...partsOf(prescribed),
        ownSetUp: isOwn ? setUpView(setUp) : null,
        ...sentencesOf(exercise, hasPicture),
      };
    },
  };
}

/** The parts of one repetition in seconds, for `dose-short.mustache`. */
function partsOf({ dose }: PrescribedExercise) {
  const numbers: Readonly<Record<string, number | undefined>> = { ...dose };
  const { liftSeconds = 0, holdSeconds = 0, lowerSeconds = 0, restSeconds = 0, reps = 0 } = numbers;
  const counts = [liftSeconds, holdSeconds, lowerSeconds, reps > 1 ? restSeconds : 0];
  const present = counts.flatMap((count, part) => (count > 0 ? [{ count, part }] : []));
  const parts = present.map(({ count, part }, index) => ({
    count,
    isLift: part === 0,
    isHold: part === 1,
    isLower: part === 2,
    isRest: part === 3,
    isFirst: index === 0,
    isLast: index === present.length - 1,
    isOneSecond: count === 1,
  }));
  return { parts, hasParts: parts.length > 0 };
}

/**
 * What is printed of how an exercise is done. Its own two sentences; without them, the sentence that is the work of it,
 * and all that is to be avoided, because nobody has said which of it can do harm; without a picture, every word.
 */
function sentencesOf({ handout, how, avoid }: Exercise, hasPicture: boolean) {
  const sentences = !hasPicture ? how : (handout ?? [how.at(how.length > 2 ? -2 : 0) ?? '']);
  const isAllSaid = hasPicture && handout !== undefined;
  return {
    sentences: sentences.map((sentence) => ({ sentence })),
    avoidAll: isAllSaid ? null : avoid.join(' '),
  };
}

/** What has to lie within reach; an exercise whose spoken words do not say so names all that it needs. */
function thingsFor({ wording, equipment, handout }: Exercise): readonly string[] {
  const said = [wording.bring, wording.bringToFeet].flatMap((thing) => thing ?? []);
  return said.length > 0 || handout !== undefined ? said : equipment;
}

const keyOf = (setUp: SetUp): string => JSON.stringify(Object.entries(setUp).sort());

/** The first of the most frequent ones; null for none at all. */
function mostFrequent(all: readonly SetUp[]): SetUp | null {
  const counted = all.map((each) => ({
    each,
    count: all.filter((other) => keyOf(other) === keyOf(each)).length,
  }));
  const most = Math.max(0, ...counted.map(({ count }) => count));
  return counted.find(({ count }) => count === most)?.each ?? null;
}
