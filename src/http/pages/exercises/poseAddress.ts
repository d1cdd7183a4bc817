import { z } from 'zod';
import type { Exercise } from '../../../catalogue/schema.js';
import { setUpSchema } from '../../../catalogue/setUp.js';
import { parseForm } from '../../../clinic/values.js';
import type { Fields } from '../../forms/fields.js';

/** What a drawing depends on besides its exercise. None of it says whose program it is for. */
const drawnForSchema = z.object({
  side: z.enum(['right', 'left']),
  headSupport: setUpSchema.shape.headSupport.unwrap(),
  knees: setUpSchema.shape.knees.unwrap(),
});
export type DrawnFor = z.infer<typeof drawnForSchema>;

/**
 * What an address asks for; null for an exercise as the catalogue has it, without a program.
 *
 * @throws StillcountError kind `input` for what no program can say
 */
export function drawnForIn({ side, headSupport, knees }: Fields): DrawnFor | null {
  const isPlain = side === undefined && headSupport === undefined && knees === undefined;
  return isPlain ? null : parseForm(drawnForSchema, { side, headSupport, knees });
}

/** Where a page finds the picture of a pose. */
export function poseAddress(
  { id }: Pick<Exercise, 'id'>,
  poseIndex: number,
  drawnFor: DrawnFor | null,
): string {
  const address = `/exercises/${id}/poses/${poseIndex + 1}`;
  return drawnFor === null ? address : `${address}?${new URLSearchParams(drawnFor)}`;
}

/** Where the last pose of an exercise is found, in which it is done; null for an exercise without poses. */
export function workingPoseAddress(exercise: Exercise): string | null {
  return exercise.figure === undefined ? null : poseAddress(exercise, exercise.figure.poses.length - 1, null);
}
