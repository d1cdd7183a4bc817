import { z } from 'zod';
import { inputError, type Problem } from '../errors/stillcountError.js';
import { parseHouseYaml } from '../yaml/parseYaml.js';
import { factorBetween, knownUnits } from './units.js';

const words = z.string().trim().min(1);
const id = z.string().regex(/^[a-z][a-z0-9-]{0,60}$/);

/**
 * `published`: read in the original publication; `secondary`: read in another one; `common-practice`: no published
 * source.
 */
export const sourceStatuses = ['published', 'secondary', 'common-practice'] as const;

const sourceSchema = z.strictObject({ status: z.enum(sourceStatuses), text: words });
export type Source = z.infer<typeof sourceSchema>;

/** The smallest change in one person that exceeds chance and measurement error. */
const realChangeSchema = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('amount'),
    amount: z.number().positive(),
    /** The same for two raters. */
    amongRaters: z.number().positive().optional(),
    /** The study population. */
    population: words,
    source: sourceSchema,
  }),
  z.strictObject({
    kind: z.literal('amount-and-percent'),
    amount: z.number().positive(),
    /** Relative to the previous value. */
    percent: z.number().positive().max(100),
    population: words,
    source: sourceSchema,
  }),
  z.strictObject({ kind: z.literal('not-published') }),
]);

const whenSchema = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('at-least'), value: z.number() }),
  z.strictObject({ kind: z.literal('above'), value: z.number() }),
  z.strictObject({ kind: z.literal('at-most'), value: z.number() }),
  /** The last value of another measure minus that of this one. */
  z.strictObject({
    kind: z.literal('loss-since'),
    measure: id,
    amount: z.number().positive(),
    /** Only if both were taken on the same day. */
    sameDay: z.boolean().default(false),
  }),
  /** The greatest earlier value minus the last one. */
  z.strictObject({ kind: z.literal('loss-between'), amount: z.number().positive() }),
]);

const considerationSchema = z.strictObject({
  id,
  when: whenSchema,
  /** Only from this age on; an age that may have been reached counts. */
  fromAge: z.int().positive().optional(),
  /** The name of its line in a chart. */
  line: words.max(30).optional(),
  words,
  source: sourceSchema,
});
export type Consideration = z.infer<typeof considerationSchema>;

const bandsSchema = z.strictObject({
  about: words,
  /** From the lowest; each up to and including a value, the last one open-ended. */
  steps: z.array(z.strictObject({ words, upTo: z.number().optional() })).min(2),
  source: sourceSchema,
});

const belowAverageSchema = z.strictObject({
  /** A value below these is below average at ages `from` to `until`, both inclusive. */
  ages: z
    .array(
      z.strictObject({
        from: z.int().nonnegative(),
        until: z.int().nonnegative(),
        men: z.number(),
        women: z.number(),
      }),
    )
    .min(1),
  words,
  source: sourceSchema,
});
export type BelowAverage = z.infer<typeof belowAverageSchema>;

const shared = {
  unit: z.string().trim().max(20),
  oneUnit: words.max(20).optional(),
  otherUnits: z.array(z.enum(knownUnits)),
  /** A speed over this distance: a time typed with its unit is converted. */
  timedOverMeters: z.number().positive().optional(),
  decimals: z.int().min(0).max(2),
  better: z.enum(['higher', 'lower', 'neither']),
  protocol: z.strictObject({ text: words, source: sourceSchema }),
  plausible: z.strictObject({ least: z.number(), most: z.number() }),
  usual: z.strictObject({ least: z.number(), most: z.number(), step: z.number().positive().optional() }),
  rangeSource: sourceSchema,
  realChange: realChangeSchema,
  bands: bandsSchema.optional(),
  belowAverage: belowAverageSchema.optional(),
  considerations: z.array(considerationSchema),
};
const measureSchema = z.strictObject({ id, name: words.max(60), ...shared });
const activitySchema = z.strictObject(shared);
const fileSchema = z.strictObject({ measures: z.array(measureSchema).min(1), activity: activitySchema });

type CatalogueMeasure = z.infer<typeof measureSchema>;
/** Something that can be measured: from the catalogue, an activity that a patient chose, or a clinic measure. */
export type Measure = Omit<CatalogueMeasure, 'protocol' | 'rangeSource'> & {
  /** Null for a clinic measure. */
  protocol: CatalogueMeasure['protocol'] | null;
};
export type Measures = {
  measures: readonly CatalogueMeasure[];
  /** What all patient-chosen activities have in common. */
  activity: z.infer<typeof activitySchema>;
};

/**
 * Reads `measures.yaml`.
 *
 * @throws StillcountError kind `input` naming the file and the path in it for every fault
 */
export function parseMeasures(text: string, file: string): Measures {
  const read = parseHouseYaml(text, file, fileSchema);
  const ids = read.measures.map((measure) => measure.id);
  const problems = [
    ...ids.flatMap((each, index) =>
      ids.indexOf(each) < index
        ? [{ path: `measures[${index}]`, message: 'this id is given twice', found: each }]
        : [],
    ),
    ...read.measures.flatMap((measure, index) => faultsOf(measure, `measures[${index}]`, ids)),
    ...faultsOf(read.activity, 'activity', ids),
  ];
  if (problems.length > 0) throw inputError(problems.map((problem) => ({ file, ...problem })));
  return read;
}

function faultsOf(measure: Measures['activity'], path: string, ids: readonly string[]): Problem[] {
  const { plausible, usual, unit, otherUnits, considerations, bands, belowAverage } = measure;
  const faults: Problem[] = [];
  const fault = (place: string, message: string, found?: string) =>
    faults.push({ path: `${path}.${place}`, message, ...(found === undefined ? {} : { found }) });
  if (measure.timedOverMeters !== undefined && unit !== 'm/s')
    fault('timedOverMeters', 'only a speed in m/s is timed', unit);
  if (plausible.least >= plausible.most) fault('plausible', 'the least is not below the most');
  if (usual.least < plausible.least || usual.most > plausible.most || usual.least >= usual.most) {
    fault('usual', 'what is usual does not lie within what is plausible');
  }
  for (const other of otherUnits) {
    if (other === unit || factorBetween(other, unit) === null) {
      fault('otherUnits', `this is not converted to ${unit === '' ? 'a plain number' : unit}`, other);
    }
  }
  considerations.forEach((consideration, index) => {
    const place = `considerations[${index}]`;
    if (considerations.findIndex((each) => each.id === consideration.id) < index) {
      fault(place, 'this id is given twice', consideration.id);
    }
    const { when } = consideration;
    if (when.kind === 'loss-since' && !ids.includes(when.measure)) {
      fault(`${place}.when.measure`, 'there is no such measure', when.measure);
    }
  });
  bands?.steps.forEach(({ upTo }, index, steps) => {
    const isLast = index === steps.length - 1;
    const before = steps[index - 1]?.upTo ?? Number.NEGATIVE_INFINITY;
    if (isLast !== (upTo === undefined)) fault(`bands.steps[${index}]`, 'only the last one has no end');
    else if (upTo !== undefined && upTo <= before)
      fault(`bands.steps[${index}]`, 'it does not end above the one before');
  });
  belowAverage?.ages.forEach(({ from, until }, index, ages) => {
    const before = ages[index - 1]?.until ?? -1;
    if (from > until || from <= before)
      fault(`belowAverage.ages[${index}]`, 'ages overlap or are not in order');
  });
  return faults;
}
