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
  view(program: PrescribedProgram): object {
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
    const { exercise, setUp, side } = prescribed;
    const { figure, path, id } = exercise;
    const key = JSON.stringify([program.language, id, figure ?? null, path.from, setUp, side]);
    const known = this.#drawn.get(key);
    if (known !== undefined) return known.figure;
    const found = prescribedFigure(prescribed, program.catalogue.figureWords);
    const drawn = found === null ? null : drawnOf(found);
    this.#drawn.set(key, { figure: drawn });
    return drawn;
  }
}

function drawnOf({ poses, way }: ExerciseFigure): Drawn {
  return {
    poses: poses.map(({ panel, text }) => ({ svg: svgOnPage(panel, text), text })),
    moving: movingSvg(way, poses.at(-1)?.text ?? ''),
  };
}
