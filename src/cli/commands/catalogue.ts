import type { Command } from 'commander';
import type { Exercise } from '../../catalogue/schema.js';
import { nearestName } from '../../errors/nearestName.js';
import { inputError } from '../../errors/stillcountError.js';
import { readSettings } from '../../session/settings.js';
import { print, printJson } from '../print.js';
import { withTiming } from '../verbosity.js';

type Options = { language: string; json?: boolean };

export function addCatalogueCommand(command: Command): void {
  command
    .command('catalogue')
    .description('list the exercises, or show one in full')
    .argument('[id]', 'id of an exercise')
    .option('--language <tag>', 'language of the templates', 'en')
    .option('--json', 'print as JSON')
    .action(showCatalogue);
}

async function showCatalogue(id: string | undefined, options: Options): Promise<void> {
  // Loaded here, so that all other commands start without reading the words.
  const { readCatalogues } = await import('../../session/readCatalogues.js');
  const catalogues = await withTiming('read the catalogue', () =>
    readCatalogues(readSettings(process.env).templatesFolder),
  );
  const exercises = catalogues.get(options.language)?.exercises;
  if (exercises === undefined) {
    throw inputError({
      path: '--language',
      message: 'there are no templates for this language',
      found: options.language,
      allowed: [...catalogues.keys()].join(', '),
    });
  }
  if (id === undefined) {
    const list = [...exercises.values()];
    if (options.json === true) printJson(list);
    else print(...table(list));
    return;
  }
  const exercise = exercises.get(id);
  if (exercise === undefined) throw unknownExercise(id, [...exercises.keys()]);
  if (options.json === true) printJson(exercise);
  else print(...pageOf(exercise));
}

/** What is said of an id that the catalogue does not have. */
export function unknownExercise(id: string, known: readonly string[]) {
  const nearest = nearestName(id, known);
  return inputError({
    message: 'there is no such exercise',
    found: id,
    allowed: 'an id listed by `stillcount catalogue`',
    ...(nearest === undefined ? {} : { hint: `did you mean ${nearest}?` }),
  });
}

function table(exercises: readonly Exercise[]): string[] {
  const width = Math.max(...exercises.map(({ id }) => id.length));
  return exercises.map(({ id, name, timing, purposes }) => {
    return `${id.padEnd(width)}  ${timing.padEnd(9)}  ${name} (${purposes.join(', ')})`;
  });
}

function pageOf(exercise: Exercise): string[] {
  const list = (title: string, entries: readonly string[]) => [
    title,
    ...entries.map((entry) => `  - ${entry}`),
  ];
  const limits: Readonly<Record<string, { min: number; max: number }>> = exercise.limits;
  const doses = Object.entries(exercise.dose).map(
    ([key, value]) => `${key}: ${value} (${limits[key]?.min} to ${limits[key]?.max})`,
  );
  const steps = exercise.ladder.steps.map(({ name, dose }) => `${name}: ${JSON.stringify(dose)}`);
  const { surface, headSupport, arms, knees } = exercise.position;
  return [
    `${exercise.name} (${exercise.id})`,
    exercise.anatomy.trim(),
    exercise.purpose,
    '',
    ...list('Position', [
      `body: ${exercise.position.body}`,
      `surface: ${surface}`,
      `head: ${headSupport}`,
      `arms: ${arms}`,
      `knees: ${knees}`,
    ]),
    ...(exercise.equipment.length === 0 ? [] : list('Equipment', exercise.equipment)),
    ...list('How', exercise.how),
    ...list('Feel', exercise.feel),
    ...list('Avoid', exercise.avoid),
    ...list('Cautions', exercise.cautions),
    ...list('Load', exercise.loadTags),
    ...(doses.length === 0 ? [] : list('Dose and limits', doses)),
    ...(steps.length === 0 ? [] : list('Steps (each signed by the clinician)', steps)),
    ...(steps.length === 0 ? [] : [`Rule: ${exercise.ladder.rule.trim()}`]),
    `Source of the dose (${exercise.doseSource.kind}): ${exercise.doseSource.text.trim()}`,
  ];
}
