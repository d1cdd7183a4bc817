import { setImmediate } from 'node:timers/promises';
import { LRUCache } from 'lru-cache';
import { type ExerciseFigure, prescribedFigure } from '../../documents/figures/exerciseFigure.js';
import { movingSvg } from '../../documents/figures/movingSvg.js';
import { type MovementPace, movementPace } from '../../documents/figures/pace.js';
import { restingFigure } from '../../documents/figures/restingFigure.js';
import { svgOnPage } from '../../documents/figures/svg.js';
import type { PrescribedExercise, PrescribedProgram } from '../../program/prescribed.js';

type Drawing = Pick<PrescribedExercise, 'exercise' | 'setUp' | 'side'>;
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
    const resting = restingFigure(program.setUp, program.catalogue.figureWords);
    const exercises: object[] = [];
    for (const prescribed of program.exercises) {
      const figures: (Drawn | null)[] = [];
      for (const drawing of drawingsOf(prescribed)) figures.push(await this.#figureOf(program, drawing));
      const pace = movementPace(prescribed, program.breath);
      const [drawn = null, left = null] = figures.map((figure) => drawnView(figure, prescribed, pace));
      exercises.push({
        // Chapters of a session: its opening, and then its exercises in their order.
        chapter: exercises.length + 1,
        name: prescribed.exercise.name,
        ...{ drawn, left },
        withoutFigure: drawn === null ? { how: prescribed.exercise.how } : null,
      });
    }
    return {
      title: program.title,
      resting: resting === null ? null : { svg: svgOnPage(resting.panel, resting.text), text: resting.text },
      exercises,
    };
  }

  async #figureOf({ language, catalogue }: PrescribedProgram, drawing: Drawing): Promise<Drawn | null> {
    const { exercise, setUp, side } = drawing;
    const { id, figure, path } = exercise;
    const key = JSON.stringify([language, id, figure ?? null, path.from, setUp, side]);
    const known = this.#drawn.get(key);
    if (known !== undefined) return known.figure;
    const found = prescribedFigure(drawing, catalogue.figureWords);
    const drawn = found === null ? null : drawnOf(found);
    this.#drawn.set(key, { figure: drawn });
    // Whoever is listening meanwhile waits for one figure at the most.
    await setImmediate();
    return drawn;
  }
}

/** Where both sides have their turn, each is drawn: the right one first, as it stands in the list. */
function drawingsOf({ exercise, setUp, side }: PrescribedExercise): Drawing[] {
  if (side !== 'both' && side !== 'alternate') return [{ exercise, setUp, side }];
  return (['right', 'left'] as const).map((each) => ({ exercise, setUp, side: each }));
}

function drawnOf({ poses, way }: ExerciseFigure): Drawn {
  return {
    poses: poses.map(({ panel, text }) => ({ svg: svgOnPage(panel, text), text })),
    moving: movingSvg(way, poses.at(-1)?.text ?? ''),
  };
}

function drawnView(
  figure: Drawn | null,
  { timing }: PrescribedExercise,
  pace: MovementPace | null,
): object | null {
  if (figure === null) return null;
  const { poses, moving } = figure;
  const isSeries = poses.length > 1;
  return {
    poses: poses.map((pose, index) => ({
      ...pose,
      number: index + 1,
      isStep: isSeries && timing === 'talk',
      isStart: isSeries && timing !== 'talk' && index === 0,
      isNext: isSeries && timing !== 'talk' && index > 0,
    })),
    moving: moving === null || pace === null ? null : { svg: moving, pace: inNumbers(pace) },
  };
}

/** As the script of the page reads it. */
function inNumbers({ outSeconds, staySeconds, backSeconds, restSeconds }: MovementPace): string {
  return [outSeconds, staySeconds, backSeconds, restSeconds].join(' ');
}
