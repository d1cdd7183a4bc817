import { setImmediate } from 'node:timers/promises';
import { LRUCache } from 'lru-cache';
import { type ExerciseFigure, prescribedFigure } from '../../documents/figures/exerciseFigure.js';
import { movingSvg } from '../../documents/figures/movingSvg.js';
import { movementPace } from '../../documents/figures/pace.js';
import { restingFigure } from '../../documents/figures/restingFigure.js';
import { svgOnPage } from '../../documents/figures/svg.js';
import type { PrescribedExercise, PrescribedProgram } from '../../program/prescribed.js';

/** An exercise as it is drawn on the listening page. */
type Drawn = { poses: readonly { svg: string; text: string }[]; moving: string | null };

/** As many as the commonest programs of a clinic need; each is about 15 kB. */
const mostDrawn = 500;

/**
 * The figures of sessions, as their page shows them: how the patient lies, and each exercise. Figures that were drawn
 * once are remembered; they hold nothing of a patient.
 */
export class SessionFigures {
  readonly #drawn = new LRUCache<string, { figure: Drawn | null }>({ max: mostDrawn });

  /** What the page of figures shows of a session. */
  async view(program: PrescribedProgram): Promise<object> {
    // Whoever is listening meanwhile waits for one figure at the most.
    for (const prescribed of program.exercises) if (this.#draw(program, prescribed)) await setImmediate();
    const resting = restingFigure(program.setUp, program.catalogue.figureWords);
    return {
      title: program.title,
      resting: resting === null ? null : { svg: svgOnPage(resting.panel, resting.text), text: resting.text },
      exercises: program.exercises.map((prescribed, index) => this.#exerciseView(program, prescribed, index)),
    };
  }

  #exerciseView(program: PrescribedProgram, prescribed: PrescribedExercise, index: number): object {
    const { exercise, side } = prescribed;
    const figure = this.#figureOf(program, prescribed);
    const pace = movementPace(prescribed, program.breath);
    const poses = figure?.poses ?? [];
    const isTold = prescribed.timing === 'talk';
    return {
      // Chapters of a session: its opening, and then its exercises in their order.
      chapter: index + 1,
      name: exercise.name,
      poses: poses.map(({ svg, text }, at) => ({
        ...{ svg, text, number: at + 1 },
        isStep: isTold && poses.length > 1,
        isStart: !isTold && poses.length > 1 && at === 0,
        isNext: !isTold && at > 0,
      })),
      moving:
        figure?.moving == null || pace === null
          ? null
          : {
              svg: figure.moving,
              pace: [pace.outSeconds, pace.staySeconds, pace.backSeconds, pace.restSeconds].join(' '),
            },
      takesTurns: figure !== null && (side === 'both' || side === 'alternate'),
      withoutFigure: figure === null ? { how: exercise.how } : null,
    };
  }

  #figureOf(program: PrescribedProgram, prescribed: PrescribedExercise): Drawn | null {
    this.#draw(program, prescribed);
    return this.#drawn.get(keyOf(program, prescribed))?.figure ?? null;
  }

  /** @returns whether it had to be drawn */
  #draw(program: PrescribedProgram, prescribed: PrescribedExercise): boolean {
    const key = keyOf(program, prescribed);
    if (this.#drawn.has(key)) return false;
    const found = prescribedFigure(prescribed, program.catalogue.figureWords);
    const moves = movementPace(prescribed, program.breath) !== null;
    this.#drawn.set(key, { figure: found === null ? null : drawnOf(found, moves) });
    return true;
  }
}

/** All that a figure is drawn from. */
function keyOf({ language }: PrescribedProgram, { exercise, setUp, side }: PrescribedExercise): string {
  return JSON.stringify([language, exercise.id, exercise.figure ?? null, exercise.path.from, setUp, side]);
}

function drawnOf(figure: ExerciseFigure, moves: boolean): Drawn {
  return {
    poses: figure.poses.map(({ panel, text }) => ({ svg: svgOnPage(panel, text), text })),
    moving: moves ? movingSvg(figure.way, figure.poses.at(-1)?.text ?? '') : null,
  };
}
