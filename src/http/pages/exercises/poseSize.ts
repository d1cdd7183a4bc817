import type { ExerciseFigure } from '../../../documents/figures/exerciseFigure.js';

/** What a page says of a pose before its picture has come: its text, and the room that it takes. */
export type PoseSize = { text: string; width: number; height: number };

export function poseSize({ panel: { frame }, text }: ExerciseFigure['poses'][number]): PoseSize {
  return { text, width: Math.round(frame.width), height: Math.round(frame.height) };
}
