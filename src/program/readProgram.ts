import { type Catalogue, doseFaults } from '../catalogue/catalogue.js';
import type { Exercise } from '../catalogue/schema.js';
import { commonNames, templateFault } from '../catalogue/template.js';
import { nearestName } from '../errors/nearestName.js';
import { inputError, type Problem } from '../errors/stillcountError.js';
import { checkedValue } from '../yaml/checkedValue.js';
import { parseYaml } from '../yaml/parseYaml.js';
import { showValue } from '../yaml/zodProblems.js';
import { pathProblems } from './path.js';
import { doseKeys, type PrescribedExercise, type PrescribedProgram } from './prescribed.js';
import { type Program, type ProgramExercise, programSchema, type SideChoice } from './schema.js';
import { maxSessionMinutes, workSeconds } from './workSeconds.js';

/**
 * Reads a program file and validates it against the catalogue: known exercises, doses within their limits, sides that
 * exist, notes that can be spoken.
 *
 * @param text the YAML text
 * @param file the name shown in messages
 * @param catalogues by language tag
 * @throws StillcountError kind `input` listing every problem found
 */
export function readProgram(
  text: string,
  file: string,
  catalogues: ReadonlyMap<string, Catalogue>,
): PrescribedProgram {
  return prescribed(parseYaml(text, file, programSchema), file, catalogues);
}

/**
 * Does the same for a program stored as a value.
 *
 * @throws StillcountError kind `input` listing every problem found
 */
export function readProgramValue(
  value: unknown,
  file: string,
  catalogues: ReadonlyMap<string, Catalogue>,
): PrescribedProgram {
  return prescribed(checkedValue(value, file, programSchema), file, catalogues);
}

/** As much of a stored program as can be shown, with everything that is now wrong with it. */
export type KeptProgram = { program: PrescribedProgram | null; problems: readonly Problem[] };

/**
 * Does the same for a program that was valid when it was stored: problems with the current catalogue are returned
 * together with what can still be shown. A program with problems is never played.
 *
 * @throws StillcountError kind `input` when it does not have the shape of a program
 */
export function readKeptProgram(
  value: unknown,
  file: string,
  catalogues: ReadonlyMap<string, Catalogue>,
): KeptProgram {
  return assess(checkedValue(value, file, programSchema), file, catalogues);
}

function prescribed(
  program: Program,
  file: string,
  catalogues: ReadonlyMap<string, Catalogue>,
): PrescribedProgram {
  const { program: read, problems } = assess(program, file, catalogues);
  if (problems.length > 0 || read === null) throw inputError(problems);
  return read;
}

function assess(program: Program, file: string, catalogues: ReadonlyMap<string, Catalogue>): KeptProgram {
  const catalogue = catalogues.get(program.language);
  if (catalogue === undefined) {
    const problem: Problem = {
      file,
      path: 'language',
      message: 'there are no templates for this language',
      found: program.language,
      allowed: [...catalogues.keys()].join(', '),
    };
    return { program: null, problems: [problem] };
  }
  const problems: Problem[] = [];
  const exercises = program.exercises.flatMap((entry, index) => {
    const result = prescribe(entry, index, program, catalogue);
    problems.push(...result.problems);
    return result.prescribed === null ? [] : [result.prescribed];
  });
  const minutes = exercises.reduce((sum, exercise) => sum + workSeconds(exercise, program.breath), 0) / 60;
  // A budget can shorten a program, but only from a bounded length, because fitting takes time too.
  const most = program.timeBudgetMinutes === undefined ? maxSessionMinutes : 2 * maxSessionMinutes;
  if (minutes > most) {
    problems.push({
      path: 'exercises',
      message: 'the session is too long to be safe or useful',
      found: `${Math.round(minutes)} minutes without its instructions`,
      allowed: `at most ${most} minutes`,
    });
  }
  const areAllKnown = exercises.length === program.exercises.length;
  // Paths can be checked only when every exercise is known, because indexes refer to the whole program.
  if (areAllKnown) problems.push(...pathProblems(exercises.map(({ exercise }) => exercise)));
  problems.push(...pronunciationFaults(program, catalogue));
  return {
    program: areAllKnown
      ? { ...program, file, catalogue, exercises, asPrescribed: { setUp: program.setUp }, adaptations: [] }
      : null,
    problems: problems.map((problem) => ({ ...problem, file })),
  };
}

type Prescribing = { prescribed: PrescribedExercise | null; problems: Problem[] };

function prescribe(
  entry: ProgramExercise,
  index: number,
  program: Program,
  catalogue: Catalogue,
): Prescribing {
  const path = `exercises[${index}]`;
  const exercise = catalogue.exercises.get(entry.exercise);
  if (exercise === undefined) {
    const nearest = nearestName(entry.exercise, [...catalogue.exercises.keys()]);
    const problem: Problem = {
      path: `${path}.exercise`,
      message: 'there is no such exercise',
      found: showValue(entry.exercise),
      allowed: 'an id listed by `stillcount catalogue`',
      ...(nearest === undefined ? {} : { hint: `did you mean ${nearest}?` }),
    };
    return { prescribed: null, problems: [problem] };
  }
  const unknownDoses = overrideFaults(entry, exercise, path);
  const problems = [
    ...unknownDoses,
    ...doseFaults(entry.dose ?? {}, exercise.limits, `${path}.dose`),
    ...sideFaults(entry.side, exercise, path),
    ...noteFaults(entry.note, path),
  ];
  const written = {
    dose: { ...exercise.dose, ...entry.dose },
    setUp: { ...program.setUp, ...entry.setUp },
  };
  const prescribed = {
    index,
    timing: exercise.timing,
    exercise,
    ...written,
    side: exercise.sidedness === 'one-side' ? (entry.side ?? 'both') : null,
    asPrescribed: written,
    adaptations: [],
    note: entry.note ?? null,
    isNew: entry.isNew,
    // The exercise's timing decides the dose's shape, which overrideFaults has just checked.
  } as PrescribedExercise;
  // A dose key that the exercise does not have cannot be shown at all.
  return { prescribed: unknownDoses.length > 0 ? null : prescribed, problems };
}

function overrideFaults(entry: ProgramExercise, exercise: Exercise, path: string): Problem[] {
  const known = doseKeys(exercise);
  return Object.keys(entry.dose ?? {})
    .filter((key) => !known.includes(key))
    .map((key) => ({
      path: `${path}.dose.${key}`,
      message: `${exercise.id} has no such dose`,
      found: key,
      allowed: known.length === 0 ? 'no dose at all' : known.join(', '),
    }));
}

function sideFaults(side: SideChoice | undefined, exercise: Exercise, path: string): Problem[] {
  if (side === undefined || exercise.sidedness === 'one-side') return [];
  if (side === 'both' && exercise.sidedness === 'together') return [];
  return [
    {
      path: `${path}.side`,
      message: `${exercise.id} has no side to choose`,
      found: side,
      allowed: exercise.sidedness === 'together' ? 'both, or no side' : 'no side',
    },
  ];
}

function noteFaults(note: string | undefined, path: string): Problem[] {
  if (note === undefined) return [];
  const fault = templateFault(note, commonNames);
  return fault === null ? [] : [{ path: `${path}.note`, message: fault, found: showValue(note) }];
}

/** Rejects a respelling that changes a number or a side, because it would change the dose that is heard. */
function pronunciationFaults(program: Program, catalogue: Catalogue): Problem[] {
  const { numbers, sides } = catalogue.phrases;
  const fixed = [...numbers, ...Object.values(sides)].map((word) => word.toLowerCase());
  return Object.keys(program.pronunciations)
    .filter((word) => fixed.includes(word.trim().toLowerCase()))
    .map((word) => ({
      path: `pronunciations.${word}`,
      message: 'numbers and sides are spoken as they are',
      found: showValue(program.pronunciations[word]),
      allowed: 'other words',
    }));
}
