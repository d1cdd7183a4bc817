import { inputError, type Problem } from '../errors/stillcountError.js';
import { figureProblems } from '../figure/checks.js';
import { type FigureWords, figureWordsSchema } from '../figure/words.js';
import { parseHouseYaml } from '../yaml/parseYaml.js';
import { type Phrases, phrasesSchema } from './phrases.js';
import { type Exercise, exerciseSchema } from './schema.js';
import { commonNames, sideNames, templateFault } from './template.js';

/** A text file from the templates folder. */
export type TemplateFile = { path: string; text: string };

/** All exercises and shared phrases of one language, validated. */
export type Catalogue = {
  language: string;
  exercises: ReadonlyMap<string, Exercise>;
  phrases: Phrases;
  /** What figures say to those who cannot see them; null where there are no such words, and then no figures. */
  figureWords: FigureWords | null;
};

/**
 * Parses the files of one language folder: `phrases.yaml` and `exercises/ID.yaml`.
 *
 * @throws StillcountError kind `input` naming the file and the path in it for every fault
 */
export function parseCatalogue(files: readonly TemplateFile[], folder: string): Catalogue {
  const phrasesFile = files.find((file) => file.path.endsWith('/phrases.yaml'));
  if (phrasesFile === undefined) {
    throw inputError({
      file: folder,
      message: 'phrases.yaml is missing',
      allowed: 'one phrases.yaml in the folder',
    });
  }
  const phrases = parseHouseYaml(phrasesFile.text, phrasesFile.path, phrasesSchema);
  const problems = phraseFaults(phrases).map((problem) => ({ ...problem, file: phrasesFile.path }));
  const exercises = new Map<string, Exercise>();
  for (const file of files.filter(({ path }) => /\/exercises\/[^/]+\.yaml$/.test(path))) {
    const exercise = parseHouseYaml(file.text, file.path, exerciseSchema);
    problems.push(...exerciseFaults(exercise, file.path).map((problem) => ({ ...problem, file: file.path })));
    exercises.set(exercise.id, exercise);
  }
  if (problems.length > 0) throw inputError(problems);
  return { language: phrases.language, exercises, phrases, figureWords: figureWordsIn(files) };
}

/** Null in a folder of templates from before there were figures. */
function figureWordsIn(files: readonly TemplateFile[]): FigureWords | null {
  const file = files.find(({ path }) => path.endsWith('/figure.yaml'));
  return file === undefined ? null : parseHouseYaml(file.text, file.path, figureWordsSchema);
}

function exerciseFaults(exercise: Exercise, path: string): Problem[] {
  const problems: Problem[] = [];
  if (!path.endsWith(`/${exercise.id}.yaml`)) {
    problems.push({
      path: 'id',
      message: 'the id differs from the file name',
      found: exercise.id,
      allowed: path,
    });
  }
  problems.push(...doseFaults(exercise.dose, exercise.limits, 'dose'));
  exercise.ladder.steps.forEach((step, index) => {
    problems.push(...doseFaults(step.dose, exercise.limits, `ladder.steps[${index}].dose`));
  });
  problems.push(...sideFaults(exercise), ...startingPositionFaults(exercise), ...figureFaults(exercise));
  problems.push(...templateFaults(exercise.wording, 'wording', [...commonNames, ...sideNames]));
  return problems;
}

/** Checks that a body can take up each pose, and a bed carry it. */
function figureFaults({ figure }: Exercise): Problem[] {
  if (figure === undefined) return [];
  return figureProblems(figure, { headSupport: 'folded-towel', knees: 'bent' }).map(
    ({ poseIndex, part, found, allowed }) => ({
      path: `figure.poses[${poseIndex}].pose`,
      message: `nobody can take up this pose: ${part}`,
      found,
      allowed,
    }),
  );
}

/** Checks that the wording and path fit a change of sides. */
function sideFaults({ path: { from, to }, sidedness, wording }: Exercise): Problem[] {
  const problems: Problem[] = [];
  const namesOneLeg = from.legs?.includes('one-bent') === true || to?.legs === 'one-bent';
  if (namesOneLeg && sidedness !== 'one-side') {
    problems.push({
      path: 'path',
      message: 'one-bent needs a working leg, and this exercise has none',
      found: `sidedness: ${sidedness}`,
      allowed: 'sidedness: one-side',
    });
  }
  if (from.position === 'side-lying' && sidedness === 'one-side' && wording.changeSides.length === 0) {
    problems.push({
      path: 'wording.changeSides',
      message: 'an exercise done on one side, and then on the other, must lead the listener over',
      found: 'nothing',
      allowed: 'words, and the time that they take',
    });
  }
  return problems;
}

/** Checks the starting position: it is taken between the explanation and the word of command, and left for a rest. */
function startingPositionFaults({ timing, limits, wording }: Exercise): Problem[] {
  const { startingPosition, leavePosition, explain } = wording;
  if (startingPosition.length === 0) return [];
  const problems: Problem[] = [];
  const slow = startingPosition.findIndex(({ takes }) => takes !== undefined);
  if (slow !== -1 && explain.length > 0) {
    problems.push({
      path: `wording.startingPosition[${slow}].takes`,
      message:
        'between an explanation and the word of command there is no time for a change of this person’s own',
      found: `takes: ${startingPosition[slow]?.takes}`,
      allowed: 'pauseAfterSeconds, or no explain',
    });
  }
  if (timing === 'talk') {
    problems.push({
      path: 'wording.startingPosition',
      message: 'a talk has no word of command, before which a starting position is taken up',
      found: `timing: ${timing}`,
      allowed: 'setUp',
    });
  }
  if ('sets' in limits && leavePosition === undefined) {
    problems.push({
      path: 'wording.leavePosition',
      message: 'a starting position is left for the rest between sets',
      found: 'nothing',
      allowed: 'words that say how, such as "Lower your arms, and rest."',
    });
  }
  return problems;
}

type Range = { min: number; max: number };

/** Lists dose numbers outside their limits; the program room uses it with its own paths. */
export function doseFaults(
  dose: Readonly<Record<string, number | undefined>>,
  limits: Readonly<Record<string, Range>>,
  path: string,
): Problem[] {
  return Object.entries(dose).flatMap(([key, value]) => {
    const range = limits[key];
    if (value === undefined || range === undefined || (value >= range.min && value <= range.max)) return [];
    return [
      {
        path: `${path}.${key}`,
        message: 'the dose is outside the limits of this exercise',
        found: String(value),
        allowed: range.min === range.max ? `only ${range.min}` : `${range.min} to ${range.max}`,
      },
    ];
  });
}

function phraseFaults(phrases: Phrases): Problem[] {
  const {
    adjustments: _clinicianWords,
    numbers: _numbers,
    language: _language,
    pronunciations: _spellings,
    ...spoken
  } = phrases;
  return templateFaults(spoken, '', [...commonNames, ...sideNames, 'minutes', 'thing']);
}

/** Checks every string in a nested structure as a template. */
function templateFaults(value: unknown, path: string, names: readonly string[]): Problem[] {
  if (typeof value === 'string') {
    const fault = templateFault(value, names);
    return fault === null ? [] : [{ path, message: fault, found: value, allowed: names.join(', ') }];
  }
  if (Array.isArray(value)) {
    return value.flatMap((entry, index) => templateFaults(entry, `${path}[${index}]`, names));
  }
  if (typeof value === 'object' && value !== null) {
    return Object.entries(value).flatMap(([key, entry]) =>
      key === 'only' ? [] : templateFaults(entry, path === '' ? key : `${path}.${key}`, names),
    );
  }
  return [];
}
