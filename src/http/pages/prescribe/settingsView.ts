import type { Problem } from '../../../errors/stillcountError.js';
import { changeTimeKeys } from '../../../prescription/changeTimeWords.js';
import { type LooseProgram, options, valueAtPath } from '../../../prescription/looseProgram.js';
import { changeTimesSchema, programSchema } from '../../../program/schema.js';
import type { Words } from '../../../text/words.js';
import { weekdaysView } from './weekdaysView.js';

/** The settings of a program that specifies none. */
const defaults = programSchema.parse({
  format: 'stillcount-program/1',
  title: 'Any',
  exercises: [{ exercise: 'any' }],
});

function changeTimeLimits(key: (typeof changeTimeKeys)[number]): { min: number | null; max: number | null } {
  const { minValue: min, maxValue: max } = changeTimesSchema.shape[key].unwrap();
  return { min, max };
}

/** The form fields for the whole program. */
export function settingsView(
  program: LooseProgram,
  content: Readonly<Record<string, unknown>>,
  { words, problems }: { words: Words; problems: readonly Problem[] },
): object {
  const valueAt = (path: string) => valueAtPath(program, path) ?? valueAtPath(defaults, path) ?? '';
  const language = valueAtPath(program, 'language');
  return {
    settings: {
      title: valueAtPath(program, 'title') ?? '',
      timesADay: content.timesADay ?? 1,
      daysAWeek: content.daysAWeek ?? 7,
      firstAt: valueAtPath(content, 'timesOfDay.0') ?? '',
      secondAt: valueAtPath(content, 'timesOfDay.1') ?? '',
      thirdAt: valueAtPath(content, 'timesOfDay.2') ?? '',
      startsOn: content.startsOn ?? '',
      endsOn: content.endsOn ?? '',
      reviewOn: content.reviewOn ?? '',
      shorterMinutes: valueAtPath(content, 'easier.shorterMinutes') ?? '',
      isLighter: valueAtPath(content, 'easier.lighter') === true,
      wordsPerMinute: valueAt('wordsPerMinute'),
      timeBudgetMinutes: valueAt('timeBudgetMinutes'),
      inSeconds: valueAt('breath.inSeconds'),
      pauseAfterInSeconds: valueAt('breath.pauseAfterInSeconds'),
      outSeconds: valueAt('breath.outSeconds'),
      pauseAfterOutSeconds: valueAt('breath.pauseAfterOutSeconds'),
      presenceEverySeconds: valueAt('presenceEverySeconds'),
      sessionNumber: valueAt('session.number'),
      seed: valueAt('session.seed'),
      listenerName: valueAt('listener.name'),
      listenerSayAs: valueAt('listener.sayAs'),
    },
    changeTimes: changeTimeKeys.map((key) => {
      const { min, max } = changeTimeLimits(key);
      return {
        ...{ key, min, max },
        label: words.changeTimes[key],
        value: valueAt(`changeTimes.${key}`),
        usual: valueAtPath(defaults, `changeTimes.${key}`),
        wrong: problems.filter(({ path }) => path === `changeTimes.${key}`),
      };
    }),
    ...weekdaysView(content, words),
    choicesOf: Object.entries(words.choices).map(([key, { label, values }]) => ({
      key,
      label,
      options: options(values, String(valueAt(key))),
    })),
    // Settings without a field are sent along, so that they are not lost.
    kept: [...(language === undefined ? [] : [{ key: 'language', value: language }]), ...spellings(program)],
  };
}

function spellings(program: LooseProgram): { key: string; value: unknown }[] {
  const pronunciations = valueAtPath(program, 'pronunciations');
  if (typeof pronunciations !== 'object' || pronunciations === null) return [];
  return Object.entries(pronunciations).map(([word, value]: [string, unknown]) => ({
    key: `pronunciations.${word}`,
    value,
  }));
}
