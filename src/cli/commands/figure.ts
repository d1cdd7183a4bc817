import type { Command } from 'commander';
import type { Catalogue } from '../../catalogue/catalogue.js';
import type { Exercise } from '../../catalogue/schema.js';
import { inputError } from '../../errors/stillcountError.js';
import { readSettings } from '../../session/settings.js';
import { print } from '../print.js';
import { forceOption, refuseExisting } from '../targets.js';
import { unknownExercise } from './catalogue.js';

type Options = {
  out: string;
  side: string;
  headSupport?: string;
  knees?: string;
  language: string;
  force?: true;
};

/** `stillcount figure`: an exercise as a drawing, or all of them on one sheet. */
export function addFigureCommand(command: Command): void {
  command
    .command('figure')
    .description('draw an exercise, or all of them on one sheet')
    .argument('[id]', 'id of an exercise; all of them without it')
    .requiredOption('--out <file>', 'file to write: .svg or .png')
    .option('--side <side>', 'working side: right or left', 'right')
    .option('--head-support <support>', 'what the head lies on, as a program names it')
    .option('--knees <knees>', 'how the knees lie, as a program names it')
    .option('--language <tag>', 'language of the templates', 'en')
    .option(...forceOption)
    .action(drawFigure);
}

async function drawFigure(id: string | undefined, options: Options): Promise<void> {
  // Loaded here, so that every other command starts without what draws.
  const { figureSheet } = await import('../../documents/figures/sheet.js');
  const { catalogueFigure, prescribedFigure } = await import('../../documents/figures/exerciseFigure.js');
  const { readCatalogues } = await import('../../session/readCatalogues.js');
  const { writeFigure } = await import('../../session/figureFile.js');
  const setUp = await setUpOf(options);
  const side = sideOf(options.side);
  const catalogues = await readCatalogues(readSettings(process.env).templatesFolder);
  const catalogue = catalogues.get(options.language);
  if (catalogue === undefined) {
    throw inputError({
      path: '--language',
      message: 'there are no templates for this language',
      found: options.language,
      allowed: [...catalogues.keys()].join(', '),
    });
  }
  const figures = chosen(id, catalogue).flatMap((exercise) => {
    const figure =
      options.knees === undefined
        ? catalogueFigure(exercise, catalogue.figureWords, { side, headSupport: setUp.headSupport })
        : prescribedFigure({ exercise, setUp, side }, catalogue.figureWords);
    return figure === null ? [] : [{ name: id === undefined ? exercise.name : null, figure }];
  });
  const [first] = figures;
  if (first === undefined) {
    throw inputError({
      message: 'there are no poses to draw',
      ...(id === undefined ? {} : { found: id }),
      allowed: 'an exercise with `figure:` in its file, and figure.yaml beside phrases.yaml',
    });
  }
  await refuseExisting([options.out], options.force === true);
  await writeFigure(figureSheet(figures), options.out);
  print(options.out, ...(id === undefined ? [] : first.figure.poses.map(({ text }) => `  ${text}`)));
}

function chosen(id: string | undefined, { exercises }: Catalogue): Exercise[] {
  if (id === undefined) return [...exercises.values()];
  const exercise = exercises.get(id);
  if (exercise === undefined) throw unknownExercise(id, [...exercises.keys()]);
  return [exercise];
}

async function setUpOf({ headSupport, knees }: Options) {
  const { checkedValue } = await import('../../yaml/checkedValue.js');
  const { setUpSchema } = await import('../../catalogue/setUp.js');
  const given = {
    ...(headSupport === undefined ? {} : { headSupport }),
    ...(knees === undefined ? {} : { knees }),
  };
  return checkedValue(given, 'the command line', setUpSchema);
}

function sideOf(side: string): 'right' | 'left' {
  if (side === 'right' || side === 'left') return side;
  throw inputError({ path: '--side', message: 'there is no such side', found: side, allowed: 'right, left' });
}
