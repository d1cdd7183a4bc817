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
export type WayView = {
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
  const figures = new Map<string, readonly PaperFigure[]>();
  const words = catalogue.figureWords;
  for (const prescribed of exercises) {
    const figure = prescribedFigure(prescribed, words);
    if (figure !== null) figures.set(drawingOf(prescribed), figure.poses);
  }
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

/** The key of a prescribed exercise's drawing. */
export function drawingOf({ exercise, index }: { exercise: Pick<Exercise, 'id'>; index: number }): string {
  return `${index}.${exercise.id}`;
}

/** Whether the pictures of an exercise are those of the ways down and up. */
export function isPartOfWays({ id }: Pick<Exercise, 'id'>, { ways }: HandoutFigures): boolean {
  return partsOfWays.has(id) && ways.length === 2;
}
