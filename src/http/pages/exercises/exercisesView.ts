import type { Catalogue } from '../../../catalogue/catalogue.js';
import type { Exercise } from '../../../catalogue/schema.js';
import { purposes } from '../../../catalogue/wording.js';
import { catalogueFigure } from '../../../documents/figures/exerciseFigure.js';
import type { Words } from '../../../text/words.js';
import { poseAddresses } from './poseAddress.js';

type KeptPose = { text: string; width: number; height: number };
/** What a page says of a figure, worked out once: it takes as long as drawing it. */
const kept = new WeakMap<Exercise, readonly KeptPose[]>();

/** Every exercise with all its poses, under its first purpose. */
export function exercisesView(catalogue: Catalogue, words: Words): object {
  const all = [...catalogue.exercises.values()];
  return {
    count: all.length,
    groups: purposes.flatMap((purpose) => {
      const exercises = all.filter((exercise) => exercise.purposes[0] === purpose);
      return exercises.length === 0
        ? []
        : [
            {
              purpose: words.purposes[purpose],
              exercises: exercises.map((exercise) => exerciseView(exercise, catalogue)),
            },
          ];
    }),
  };
}

function exerciseView(exercise: Exercise, catalogue: Catalogue): object {
  const poses = posesOf(exercise, catalogue);
  return {
    id: exercise.id,
    name: exercise.name,
    what: exercise.purpose,
    hasFigure: poses.length > 0,
    poses: poses.map((pose, index) => ({ ...pose, ...poseAddresses(exercise, index, null) })),
    isOneSided: exercise.sidedness === 'one-side' && poses.length > 0,
  };
}

function posesOf(exercise: Exercise, { figureWords }: Catalogue): readonly KeptPose[] {
  const known = kept.get(exercise);
  if (known !== undefined) return known;
  const poses = (catalogueFigure(exercise, figureWords)?.poses ?? []).map(({ panel: { frame }, text }) => ({
    text,
    width: Math.round(frame.width),
    height: Math.round(frame.height),
  }));
  kept.set(exercise, poses);
  return poses;
}
