import type { Catalogue } from '../../../catalogue/catalogue.js';
import type { Exercise } from '../../../catalogue/schema.js';
import { purposes } from '../../../catalogue/wording.js';
import { catalogueFigure } from '../../../documents/figures/exerciseFigure.js';
import type { Words } from '../../../text/words.js';
import { poseAddress } from './poseAddress.js';
import { type PoseSize, poseSize } from './poseSize.js';

/** What a page says of a figure, worked out once: it takes as long as drawing it. */
const kept = new WeakMap<Exercise, readonly PoseSize[]>();

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
    poses: poses.map((pose, index) => ({ ...pose, address: poseAddress(exercise, index, null) })),
    isOneSided: exercise.sidedness === 'one-side' && poses.length > 0,
  };
}

function posesOf(exercise: Exercise, { figureWords }: Catalogue): readonly PoseSize[] {
  const known = kept.get(exercise);
  if (known !== undefined) return known;
  const poses = (catalogueFigure(exercise, figureWords)?.poses ?? []).map(poseSize);
  kept.set(exercise, poses);
  return poses;
}
