import type { Words } from '../words.js';
import { at, type LooseProgram, options } from './looseProgram.js';

/** What a program has when it says nothing, as the program room fills it in. */
const defaults: Readonly<Record<string, string | number>> = {
  voice: 'embedded:slt',
  'setUp.surface': 'bed',
  'setUp.headSupport': 'folded-towel',
  'setUp.knees': 'bent',
  coaching: 'fading',
  'counting.which': 'all',
  'counting.direction': 'down',
  'breath.inSeconds': 4,
  'breath.pauseAfterInSeconds': 0,
  'breath.outSeconds': 5,
  'breath.pauseAfterOutSeconds': 0,
  wordsPerMinute: 135,
  presenceEverySeconds: 45,
  'session.number': 1,
  'session.seed': 1,
};

/** The fields of the form that are for the whole program. */
export function settingsView(
  program: LooseProgram,
  content: Readonly<Record<string, unknown>>,
  words: Words,
): object {
  const valueAt = (path: string) => at(program, path) ?? defaults[path] ?? '';
  const language = at(program, 'language');
  return {
    settings: {
      title: valueAt('title'),
      timesADay: content.timesADay ?? 1,
      daysAWeek: content.daysAWeek ?? 7,
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
  const pronunciations = at(program, 'pronunciations');
  if (typeof pronunciations !== 'object' || pronunciations === null) return [];
  return Object.entries(pronunciations).map(([word, value]: [string, unknown]) => ({
    key: `pronunciations.${word}`,
    value,
  }));
}
