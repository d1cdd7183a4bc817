import { z } from 'zod';
import type { Catalogue } from '../catalogue/catalogue.js';
import type { Exercise } from '../catalogue/schema.js';
import { inputError, type Problem } from '../errors/stillcountError.js';
import { parseHouseYaml } from '../yaml/parseYaml.js';

const words = z.string().trim().min(1);
const sourceSchema = z.strictObject({ kind: z.enum(['published', 'common-practice']), text: words });
export type NumberSource = z.infer<typeof sourceSchema>;

/** A number of a rule, with its source. */
const sourced = (value: z.ZodNumber) => z.strictObject({ value, source: sourceSchema });
const count = sourced(z.int().min(1).max(100));
const days = sourced(z.int().min(1).max(365));
/** As a listener answers, from 0 to 10. */
const scale = sourced(z.int().min(0).max(10));
const share = sourced(z.number().gt(0).max(1));

const programNumbersSchema = z.strictObject({
  /** How long after a warning sign no step up is advised. */
  signDays: days,
  /** How long contradictory reports hold everything. */
  agreeDays: days,
  /** How long nothing was started before a patient counts as inactive. */
  quietDays: days,
  /** The longest gap between sessions after which earlier tolerance still counts. */
  gapDays: days,
  /** The adherence period, in days. */
  shareDays: days,
  leastShareDone: share,
  /** The smallest rise in pain that counts, in points. */
  importantPainPoints: scale,
  /** How often pain must rise without settling, within how many days, before a step down is advised. */
  flares: count,
  flareDays: days,
  /** Pain before or after a session, on `flares` days, and a rise within one, from which a clinician must review. */
  reviewPain: scale,
  reviewRise: scale,
  /** Pain before or after a session from which a clinician must review, even if it occurred once. */
  severePain: scale,
  /** The number of sessions in a row started but not completed before a clinician must review. */
  brokenOff: count,
  /** The increase in effort at a dose, in points, that rules out a step up. */
  effortRise: scale,
  /** On how many days, within how many, sessions are skipped in pain or unwell before a clinician must review. */
  unwellTimes: count,
  unwellDays: days,
  /** How long an answer to something persistent holds before it is brought up again. */
  askAgainDays: days,
});
export type ProgramNumbers = z.infer<typeof programNumbersSchema>;

const ruleNumbersSchema = z.strictObject({
  sessionsInARow: count,
  /** The minimum number of days at a dose, and between two changes of one program. */
  leastDays: days,
  /** The highest effort at which a step up may follow. */
  mostEffort: scale,
  /** The effort from which a step down should follow. */
  tooMuchEffort: scale,
  /** The highest pain after a session at which a step up may follow. */
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

/** When a next step may be advised: what applies to whole programs, and the rules that ladders reference. */
export type Progression = { program: ProgramNumbers; rules: ReadonlyMap<string, ProgressionRule> };

/**
 * Reads `progression.yaml`, and checks that the ladders of a catalogue reference its rules and state the same numbers
 * in words.
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

/** Readers of the text must not see other numbers than those used in the computation. */
function wordFaults(
  wording: string,
  { numbers }: ProgressionRule,
  { importantPainPoints }: ProgramNumbers,
): Pick<Problem, 'message' | 'found' | 'allowed'>[] {
  const inARow = /(\w+) sessions in a row/.exec(wording)?.[1];
  const effort = /effort at most (\d+)\s+of\s+10/.exec(wording)?.[1];
  const rise = /rises by less than (\d+)\s+of\s+10/.exec(wording)?.[1];
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
