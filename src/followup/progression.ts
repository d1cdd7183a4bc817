import { z } from 'zod';
import type { Catalogue } from '../catalogue/catalogue.js';
import type { Exercise } from '../catalogue/schema.js';
import { inputError, type Problem } from '../errors/stillcountError.js';
import { parseHouseYaml } from '../yaml/parseYaml.js';

const words = z.string().trim().min(1);
const sourceSchema = z.strictObject({ kind: z.enum(['published', 'common-practice']), text: words });
export type NumberSource = z.infer<typeof sourceSchema>;

/** A number of a rule, and where it comes from. */
const sourced = (value: z.ZodNumber) => z.strictObject({ value, source: sourceSchema });
const count = sourced(z.int().min(1).max(100));
const days = sourced(z.int().min(1).max(365));
/** As a listener answers, from 0 to 10. */
const scale = sourced(z.int().min(0).max(10));
const share = sourced(z.number().gt(0).max(1));

const programNumbersSchema = z.strictObject({
  /** How long after a warning sign nothing is stepped up. */
  signDays: days,
  /** How long a report that does not fit another holds everything back. */
  agreeDays: days,
  /** How long nothing was begun before someone counts as gone quiet. */
  quietDays: days,
  /** The longest time without a session after which what was borne before still counts. */
  gapDays: days,
  /** Over how many days it is counted what was done. */
  shareDays: days,
  leastShareDone: share,
  /** What counts as a rise of pain that matters, in points. */
  importantPainPoints: scale,
  /** How often pain rises and stays, within how many days, before less is advised. */
  flares: count,
  flareDays: days,
  /** Pain before or after a session, on `flares` days, and a rise within one, from which on a clinician has to look. */
  reviewPain: scale,
  reviewRise: scale,
  /** Pain before or after a session from which on a clinician has to look, even if it came once. */
  severePain: scale,
  /** So many sessions in a row that were begun and not brought to their end, before a clinician has to look. */
  brokenOff: count,
  /** By how many points effort may not have grown at a dose for more to come. */
  effortRise: scale,
  /** On how many days, within how many, sessions are put off in pain or unwell before a clinician has to look. */
  unwellTimes: count,
  unwellDays: days,
  /** How long an answer to what lasts holds before it is asked again. */
  askAgainDays: days,
});
export type ProgramNumbers = z.infer<typeof programNumbersSchema>;

const ruleNumbersSchema = z.strictObject({
  sessionsInARow: count,
  /** Least days at a dose, and between two changes of one program. */
  leastDays: days,
  /** The most effort with which more may come. */
  mostEffort: scale,
  /** The effort from which on less should come. */
  tooMuchEffort: scale,
  /** The most pain after a session with which more may come. */
  mostPain: scale,
});
export type RuleNumbers = z.infer<typeof ruleNumbersSchema>;

const ruleSchema = z
  .strictObject({ id: z.string().regex(/^[a-z][a-z0-9-]*$/), name: words, numbers: ruleNumbersSchema })
  .refine(({ numbers }) => numbers.mostEffort.value < numbers.tooMuchEffort.value, {
    error: 'tooMuchEffort must be above mostEffort',
    path: ['numbers', 'tooMuchEffort', 'value'],
  });
export type ProgressionRule = z.infer<typeof ruleSchema>;

/** When a next step may be advised: what holds for whole programs, and the rules that ladders name. */
export type Progression = { program: ProgramNumbers; rules: ReadonlyMap<string, ProgressionRule> };

/**
 * Reads `progression.yaml`, and checks that the ladders of a catalogue name its rules and say the same in words.
 *
 * @throws StillcountError kind `input` naming the file and the path in it for every fault
 */
export function parseProgression(text: string, file: string, catalogue: Catalogue): Progression {
  const schema = z.strictObject({ program: programNumbersSchema, rules: z.array(ruleSchema).min(1) });
  const { program, rules } = parseHouseYaml(text, file, schema);
  const problems: Problem[] = rules.flatMap(({ id }, index) =>
    rules.findIndex((rule) => rule.id === id) < index
      ? [{ file, path: `rules[${index}].id`, message: 'this id is given twice', found: id }]
      : [],
  );
  const byId = new Map(rules.map((rule) => [rule.id, rule]));
  for (const exercise of catalogue.exercises.values()) {
    problems.push(...ladderFaults(exercise, byId, program));
  }
  if (problems.length > 0) throw inputError(problems);
  return { program, rules: byId };
}

function ladderFaults(
  { id, ladder }: Exercise,
  rules: ReadonlyMap<string, ProgressionRule>,
  program: ProgramNumbers,
): Problem[] {
  const place = { file: `exercises/${id}.yaml`, path: 'ladder.progression' };
  const { progression } = ladder;
  if (ladder.steps.length === 0) {
    return progression === undefined
      ? []
      : [
          {
            ...place,
            message: 'there are no steps, so a progression rule is not allowed',
            found: progression,
          },
        ];
  }
  const allowed = [...rules.keys()].join(', ');
  if (progression === undefined) {
    return [{ ...place, message: 'the rule for these steps is missing', allowed }];
  }
  const rule = rules.get(progression);
  if (rule === undefined)
    return [{ ...place, message: 'there is no such rule', found: progression, allowed }];
  return wordFaults(ladder.rule, rule, program).map((problem) => ({
    ...problem,
    ...place,
    path: 'ladder.rule',
  }));
}

const smallNumbers = ['no', 'one', 'two', 'three', 'four', 'five', 'six', 'seven', 'eight', 'nine', 'ten'];

/** Whoever reads the words must not believe in other numbers than those that are counted with. */
function wordFaults(
  said: string,
  { numbers }: ProgressionRule,
  { importantPainPoints }: ProgramNumbers,
): Pick<Problem, 'message' | 'found' | 'allowed'>[] {
  const inARow = /(\w+) sessions in a row/.exec(said)?.[1];
  const effort = /effort at most (\d+)\s+of\s+10/.exec(said)?.[1];
  const rise = /rises by less than (\d+)\s+of\s+10/.exec(said)?.[1];
  const wantedRise = String(importantPainPoints.value);
  const wantedRow = smallNumbers[numbers.sessionsInARow.value] ?? String(numbers.sessionsInARow.value);
  return [
    ...(inARow === wantedRow ? [] : [differing('sessions in a row', inARow, wantedRow)]),
    ...(effort === String(numbers.mostEffort.value)
      ? []
      : [differing('effort at most … of 10', effort, String(numbers.mostEffort.value))]),
    ...(rise === wantedRise ? [] : [differing('pain that rises by less than … of 10', rise, wantedRise)]),
  ];
}

function differing(what: string, found: string | undefined, allowed: string) {
  const message = `the words and the numbers of the rule differ: ${what}`;
  return { message, found: found ?? 'nothing', allowed };
}
