import { z } from 'zod';
import { adaptationSchema } from '../catalogue/adaptation.js';
import { loadTagSchema } from '../catalogue/wording.js';
import { inputError, type Problem } from '../errors/stillcountError.js';
import { parseHouseYaml } from '../yaml/parseYaml.js';
import { adaptationProblems } from './adaptationProblems.js';

/** The measures that a rule can propose, strictest first. */
export const measures = ['leave-out', 'clearance', 'change'] as const;

const idSchema = z.string().regex(/^[a-z][a-z0-9-]*$/);
const words = z.string().trim().min(1);

const ruleSchema = z
  .strictObject({
    id: idSchema,
    /** Applies to exercises with one of these loads, */
    loads: z.array(loadTagSchema).default([]),
    /** to these by name, */
    exercises: z.array(idSchema).default([]),
    /** or to all; */
    everything: z.boolean().default(false),
    /** but not to these. */
    except: z.array(idSchema).default([]),
    measure: z.enum(measures),
    why: words,
    how: words,
    /** Refers to a doctor first: nothing resolves it. */
    stop: z.boolean().default(false),
    /** Who may clear it; only for `clearance`. */
    clearedBy: words.optional(),
    /** What resolving the rule changes in the exercises that it applies to. */
    adapt: adaptationSchema.optional(),
    source: z.strictObject({ kind: z.enum(['published', 'common-practice']), text: words }),
  })
  .refine((rule) => (rule.measure === 'clearance') === (rule.clearedBy !== undefined), {
    message: 'clearedBy goes with the measure clearance, and only with it',
    path: ['clearedBy'],
  })
  .refine((rule) => !rule.stop || (rule.everything && rule.measure === 'leave-out'), {
    message: 'a rule that stops leaves everything out',
    path: ['stop'],
  })
  .refine((rule) => rule.everything || rule.loads.length + rule.exercises.length > 0, {
    message: 'a rule names loads or exercises, or is for everything',
    path: ['loads'],
  });
export type Rule = z.infer<typeof ruleSchema>;

const systemSchema = z.strictObject({
  id: idSchema,
  /** The heading of its page. */
  name: words,
  /** For the clinician, above the questions. */
  lead: words.optional(),
});
/** A body system: the questions on one page. */
type BodySystem = z.infer<typeof systemSchema>;

const precautionSchema = z.strictObject({
  id: idSchema,
  /** The page on which it is asked. */
  system: idSchema,
  /** The name as used in records. */
  name: words,
  /** The question for the patient; "yes" means that the precaution applies. */
  ask: words,
  /** For the clinician: what to check, what cannot wait. */
  help: words.optional(),
  /** Never answered together with others. */
  askAlone: z.boolean().default(false),
  /** A yes requires details: when, which side, what is allowed. */
  needsDetails: z.boolean().default(false),
  /** The condition lasts for months: the previous answer is confirmed instead of asked again. */
  lasting: z.boolean().default(false),
  rules: z.array(ruleSchema).min(1),
});
export type Precaution = z.infer<typeof precautionSchema>;

const fileSchema = z.strictObject({
  systems: z.array(systemSchema).min(1),
  precautions: z.array(precautionSchema).min(1),
});

/** The precaution interview: its pages, the questions on each, and the rules that follow from an answer. */
export type Interview = { systems: readonly BodySystem[]; precautions: readonly Precaution[] };

/**
 * Returns whether a question cannot wait for the next visit: it is never answered together with others, or its answer
 * holds back everything.
 */
export function isUrgent({ askAlone, rules }: Precaution): boolean {
  return askAlone || rules.some(({ everything, measure }) => everything && measure !== 'change');
}

/** Returns whether a question is never answered together with others: it is urgent, or its answer stops everything. */
export function isAskedAlone({ askAlone, rules }: Pick<Precaution, 'askAlone' | 'rules'>): boolean {
  return askAlone || rules.some(({ stop }) => stop);
}

/** Returns the questions of one page, in the order in which they are asked. */
export function questionsOf({ precautions }: Interview, systemId: string): readonly Precaution[] {
  return precautions.filter(({ system }) => system === systemId);
}

/** The ids that rules can refer to. */
type Known = { exerciseIds: ReadonlySet<string>; tags: ReadonlySet<string> };

/**
 * Parses `precautions.yaml`.
 *
 * @param known every exercise and every tag of a spoken line, so that no rule refers to one that does not exist
 * @throws StillcountError kind `input` naming the file and the path in it for every fault
 */
export function parseInterview(text: string, file: string, { exerciseIds, tags }: Known): Interview {
  const { systems, precautions } = parseHouseYaml(text, file, fileSchema);
  const ids = [...systems, ...precautions, ...precautions.flatMap(({ rules }) => rules)].map(({ id }) => id);
  const twice = ids.filter((id, index) => ids.indexOf(id) !== index);
  const named = precautions.flatMap(({ rules }) =>
    rules.flatMap((rule) => [...rule.exercises, ...rule.except]),
  );
  const problems: Problem[] = [
    ...twice.map((found) => ({ file, path: 'precautions', message: 'this id is given twice', found })),
    ...named
      .filter((id) => !exerciseIds.has(id))
      .map((found) => ({ file, path: 'precautions', message: 'there is no such exercise', found })),
    ...precautions.flatMap((precaution, index): Problem[] =>
      precaution.lasting && isUrgent(precaution)
        ? [
            {
              ...{ file, path: `precautions[${index}].lasting`, found: precaution.id },
              message: 'what cannot wait is asked anew each time',
            },
          ]
        : [],
    ),
    ...systemProblems(systems, precautions, file),
    ...adaptationProblems(precautions, file, tags),
  ];
  if (problems.length > 0) throw inputError(problems);
  return { systems, precautions };
}

/**
 * Checks that questions are in the order of the pages, that those that stop everything are on the first one, and that
 * no page is empty.
 */
function systemProblems(
  systems: readonly BodySystem[],
  precautions: readonly Precaution[],
  file: string,
): Problem[] {
  const order = systems.map(({ id }) => id);
  const [first = ''] = order;
  const allowed = order.join(', ');
  return [
    ...precautions.flatMap(({ id, system, rules }, index): Problem[] => {
      const path = `precautions[${index}].system`;
      const place = order.indexOf(system);
      const before = order.indexOf(precautions[index - 1]?.system ?? system);
      if (place === -1) return [{ file, path, message: 'there is no such system', found: system, allowed }];
      if (place < before)
        return [{ file, path, message: `${id} stands after a question of a later system`, found: system }];
      return place > 0 && rules.some(({ stop }) => stop)
        ? [
            {
              file,
              path,
              message: `${id} stops, and what stops is asked first`,
              found: system,
              allowed: first,
            },
          ]
        : [];
    }),
    ...order
      .filter((id) => precautions.every(({ system }) => system !== id))
      .map((found) => ({ file, path: 'systems', message: 'this system has no question', found })),
  ];
}
