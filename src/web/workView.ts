import { z } from 'zod';
import type { Catalogue } from '../catalogue/catalogue.js';
import { purposes } from '../catalogue/schema.js';
import { lanes, stripSvg } from '../documents/strip.js';
import { type Problem, StillcountError } from '../errors/stillcountError.js';
import { type ReadPrescription, readPrescription } from '../prescription/content.js';
import { dosesHeard } from '../script/doseHeard.js';
import { previewScript } from '../session/makeSession.js';
import type { Workshop } from '../session/workshop.js';
import { lengthInWords } from './forms/words.js';

/** A program as far as it can be shown in a form, right or not. */
const looseSchema = z.looseObject({
  exercises: z
    .array(
      z.looseObject({
        exercise: z.string(),
        dose: z.record(z.string(), z.unknown()).default({}),
        side: z.string().optional(),
        note: z.string().optional(),
        isNew: z.boolean().optional(),
        setUp: z.record(z.string(), z.unknown()).default({}),
      }),
    )
    .default([]),
});

const doseLabels: Readonly<Record<string, string>> = {
  durationSeconds: 'Time, s',
  sets: 'Sets',
  reps: 'Repetitions',
  holdSeconds: 'Hold, s',
  liftSeconds: 'Lift, s',
  lowerSeconds: 'Lower, s',
  restSeconds: 'Rest, s',
  setRestSeconds: 'Set rest, s',
};
const sideWords = { both: 'Left, then right', alternate: 'In turn', left: 'Left', right: 'Right' };

/** Choices of the program form, in the words of the page. */
const choices = [
  ['voice', 'Voice', { 'embedded:slt': 'Woman', 'embedded:rms': 'Man', system: 'Of this computer' }],
  ['setUp.surface', 'Lies on', { bed: 'Bed', 'firm-bed': 'Firm bed' }],
  [
    'setUp.headSupport',
    'Under the head',
    { none: 'Nothing', 'folded-towel': 'Folded towel', 'thin-pillow': 'Thin pillow', pillow: 'Pillow' },
  ],
  ['setUp.knees', 'Knees', { bent: 'Bent', 'over-pillow': 'Over a pillow', straight: 'Straight' }],
  ['coaching', 'Reminders', { fading: 'Fewer as days go by', full: 'All', quiet: 'Hardly any' }],
  ['counting.which', 'Count aloud', { all: 'Every second', 'last-five': 'The last five', none: 'Nothing' }],
  ['counting.direction', 'Count', { down: 'Down', up: 'Up' }],
] as const;

/** Settings that the form has no field for, sent along so that they are not lost. */
const keptKeys = [
  'language',
  'presenceEverySeconds',
  'breath.pauseAfterInSeconds',
  'breath.pauseAfterOutSeconds',
];

const defaults: Readonly<Record<string, string | number>> = {
  voice: 'embedded:slt',
  'setUp.surface': 'bed',
  'setUp.headSupport': 'folded-towel',
  'setUp.knees': 'bent',
  coaching: 'fading',
  'counting.which': 'all',
  'counting.direction': 'down',
  'breath.inSeconds': 4,
  'breath.outSeconds': 5,
  wordsPerMinute: 135,
};

/** The part of the prescribing page that changes as she works. */
export type WorkView = { view: object; read: ReadPrescription | null };

/**
 * Draws unsigned work: its fields as they are, and the session when it is right.
 *
 * @param audio the address of the audio, once it was asked for
 */
export async function workView(
  content: Readonly<Record<string, unknown>>,
  workshop: Workshop,
  audio: string | null,
): Promise<WorkView> {
  const catalogue = workshop.catalogues.get('en');
  if (catalogue === undefined) throw new RangeError('the house has no English words');
  const loose = looseSchema.safeParse(content.program);
  const program: z.infer<typeof looseSchema> = loose.success ? loose.data : { exercises: [] };
  const isEmpty = program.exercises.length === 0;
  const { read, drawing, problems } = await drawn(content, workshop);
  const shownProblems = isEmpty ? [] : problems;
  const valueAt = (path: string) => at(program, path) ?? defaults[path] ?? '';
  return {
    read: shownProblems.length === 0 ? read : null,
    view: {
      problems: shownProblems,
      hasProblems: shownProblems.length > 0,
      ...drawing,
      audio,
      exercises: program.exercises.map((entry, index) => exerciseView(entry, index, catalogue)),
      hasExercises: !isEmpty,
      catalogue: catalogueView(catalogue),
      settings: {
        title: valueAt('title'),
        timesADay: content.timesADay ?? 1,
        daysAWeek: content.daysAWeek ?? 7,
        wordsPerMinute: valueAt('wordsPerMinute'),
        timeBudgetMinutes: valueAt('timeBudgetMinutes'),
        inSeconds: valueAt('breath.inSeconds'),
        outSeconds: valueAt('breath.outSeconds'),
        sessionNumber: at(program, 'session.number') ?? 1,
        seed: at(program, 'session.seed') ?? 1,
        listenerName: valueAt('listener.name'),
        listenerSayAs: valueAt('listener.sayAs'),
      },
      choicesOf: choices.map(([key, label, words]) => ({
        key,
        label,
        options: options(words, String(valueAt(key))),
      })),
      kept: [
        ...keptKeys.flatMap((key) => {
          const value = at(program, key);
          return value === undefined ? [] : [{ key, value }];
        }),
        ...pronunciationsOf(program),
      ],
    },
  };
}

type Drawn = { read: ReadPrescription | null; drawing: object; problems: readonly Problem[] };

async function drawn(content: unknown, workshop: Workshop): Promise<Drawn> {
  try {
    const read = readPrescription(content, 'this program', workshop.catalogues);
    const { script, estimatedWordings } = await previewScript(read.program, workshop);
    const underTensionSeconds = dosesHeard(script).reduce((sum, dose) => sum + dose.underTensionSeconds, 0);
    const weeklySeconds = underTensionSeconds * read.timesADay * read.daysAWeek;
    const names = {
      words: 'Words',
      counts: 'Counts',
      breath: 'Breath',
      rests: 'Rests',
      presence: 'Presence',
    };
    const length = lengthInWords(script.durationMs);
    const strip = stripSvg(script, {
      title: `The session to scale, ${length}`,
      description: `${script.chapters.map((chapter) => chapter.title).join(', ')}. Lanes: ${lanes.map((lane) => names[lane]).join(', ')}.`,
      lanes: names,
    });
    return {
      read,
      problems: [],
      drawing: {
        strip,
        totals: {
          length,
          underTension: lengthInWords(underTensionSeconds * 1000),
          weekly: lengthInWords(weeklySeconds * 1000),
          estimated: estimatedWordings === 0 ? null : estimatedWordings,
        },
        adjustments: script.adjustments.map(({ text }) => text),
      },
    };
  } catch (error) {
    if (!(error instanceof StillcountError) || error.kind !== 'input') throw error;
    return { read: null, drawing: {}, problems: error.problems };
  }
}

function exerciseView(
  entry: z.infer<typeof looseSchema>['exercises'][number],
  index: number,
  catalogue: Catalogue,
): object {
  const exercise = catalogue.exercises.get(entry.exercise);
  const dose: Readonly<Record<string, unknown>> = { ...exercise?.dose, ...entry.dose };
  const limits: Readonly<Record<string, { min: number; max: number }>> = exercise?.limits ?? {};
  return {
    index,
    number: index + 1,
    id: entry.exercise,
    name: exercise?.name ?? entry.exercise,
    cautions: exercise?.cautions ?? [],
    doses: Object.entries(limits).map(([key, { min, max }]) => ({
      key,
      label: doseLabels[key] ?? key,
      value: dose[key],
      min,
      max,
    })),
    hasSide: exercise?.sidedness === 'one-side',
    sides: options(sideWords, entry.side ?? 'both'),
    note: entry.note ?? '',
    isNew: entry.isNew === true,
    ownSetUp: Object.entries(entry.setUp).map(([key, value]) => ({ key, value, index })),
  };
}

/** Exercises under their first purpose, in the order of the purposes. */
function catalogueView(catalogue: Catalogue): object[] {
  const all = [...catalogue.exercises.values()];
  return purposes.flatMap((purpose) => {
    const exercises = all.filter((exercise) => exercise.purposes[0] === purpose);
    if (exercises.length === 0) return [];
    const name = purpose.charAt(0).toUpperCase() + purpose.slice(1).replace('-', ' ');
    return [{ purpose: name, exercises: exercises.map(({ id, name }) => ({ id, name })) }];
  });
}

function options(words: Readonly<Record<string, string>>, chosen: string): object[] {
  const known = Object.entries(words).map(([value, text]) => ({
    value,
    words: text,
    selected: value === chosen,
  }));
  // A value without words, such as another voice, stays what it is.
  return chosen === '' || chosen in words
    ? known
    : [...known, { value: chosen, words: chosen, selected: true }];
}

function pronunciationsOf(program: object): { key: string; value: unknown }[] {
  const pronunciations: unknown = 'pronunciations' in program ? program.pronunciations : undefined;
  if (typeof pronunciations !== 'object' || pronunciations === null) return [];
  return Object.entries(pronunciations).map(([word, value]: [string, unknown]) => ({
    key: `pronunciations.${word}`,
    value,
  }));
}

function at(tree: unknown, path: string): unknown {
  return path
    .split('.')
    .reduce<unknown>(
      (value, key) =>
        typeof value === 'object' && value !== null && Object.hasOwn(value, key)
          ? Reflect.get(value, key)
          : undefined,
      tree,
    );
}
