import type { Exercise } from '../catalogue/schema.js';
import type { PrescribedProgram } from '../program/prescribed.js';
import { prescribedFigure } from './figures/exerciseFigure.js';
import { fillLines, type PaperTexts } from './filled.js';
import type { PaperFigure } from './pdf/paper.js';

/** The ways onto the bed and up again: they are drawn on every handout, whether a program leads through them or not. */
const wayDown = 'into-bed';
const wayUp = 'out-of-bed';
/** Exercises that are a part of these ways: their pictures are there. */
const partsOfWays = new Set([wayDown, wayUp, 'log-roll', 'sit-before-standing']);

/** One of the ways for the texts of papers: its steps, one for each of its pictures. */
type WayView = {
  isDown: boolean;
  isUp: boolean;
  drawing: string;
  steps: { text: string }[];
};

export type HandoutFigures = {
  /** By key: those of an exercise by its place and id, those of a way by the id of its exercise. */
  figures: ReadonlyMap<string, readonly PaperFigure[]>;
  ways: readonly WayView[];
};

/** Draws a program for paper, with the ways down and up as this patient lies. */
export function drawHandout(
  texts: PaperTexts,
  { exercises, catalogue, setUp }: PrescribedProgram,
): HandoutFigures {
  const figures = drawExercises({ exercises, catalogue });
  const words = catalogue.figureWords;
  const lying = exercises[0]?.setUp ?? setUp;
  const ways = [wayDown, wayUp].flatMap((id): WayView[] => {
    const exercise = catalogue.exercises.get(id);
    if (exercise === undefined) return [];
    const figure = prescribedFigure({ exercise, setUp: lying, side: null }, words);
    if (figure !== null) figures.set(id, figure.poses);
    const steps = fillLines(texts, `steps-${id}`).map((text) => ({ text }));
    return [{ isDown: id === wayDown, isUp: id === wayUp, drawing: id, steps }];
  });
  return { figures, ways };
}

/** The figures of a program's exercises by {@link drawingOf}; one without poses is not among them. */
export function drawExercises({
  exercises,
  catalogue,
}: Pick<PrescribedProgram, 'exercises' | 'catalogue'>): Map<string, readonly PaperFigure[]> {
  return new Map(
    exercises.flatMap((prescribed): [string, readonly PaperFigure[]][] => {
      const figure = prescribedFigure(prescribed, catalogue.figureWords);
      return figure === null ? [] : [[drawingOf(prescribed), figure.poses]];
    }),
  );
}

/** The key of a prescribed exercise's drawing. */
export function drawingOf({ exercise, index }: { exercise: Pick<Exercise, 'id'>; index: number }): string {
  return `${index}.${exercise.id}`;
}

/** Whether the pictures of an exercise are those of the ways down and up. */
export function isPartOfWays({ id }: Pick<Exercise, 'id'>, { ways }: HandoutFigures): boolean {
  return partsOfWays.has(id) && ways.length === 2;
}
