import type { Catalogue } from '../../src/catalogue/catalogue.js';
import { changeNames } from '../../src/catalogue/changeWords.js';
import type { Exercise } from '../../src/catalogue/schema.js';
import { speak, type View } from '../../src/catalogue/template.js';
import type { Line, Phrase, Wording } from '../../src/catalogue/wording.js';

/** Something that may be heard, and where it stands. */
export type Spoken = { exercise: string; part: string; text: string };

type Part = Line | Phrase | Wording | readonly (Line | Phrase)[] | { say: Wording };

const flags = [
  'firstSession',
  'severalSets',
  'severalReps',
  'severalSeconds',
  'oneMinute',
  'eachSide',
  'alternate',
  'kneesStraight',
  'kneesBent',
  'kneesOverPillow',
];

const words: View = {
  name: 'Rosa',
  thing: 'your stick',
  minutes: 'five',
  sets: 'two',
  reps: 'five',
  holdSeconds: 'five',
  restSeconds: 'five',
  setRestSeconds: 'thirty',
  liftSeconds: 'three',
  lowerSeconds: 'three',
  wholeMinutes: 'five',
  extraSeconds: 'thirty',
  surface: 'bed',
  side: 'left',
  otherSide: 'right',
  previousSide: 'left',
};

/** The views that between them open and close every section of a template. */
const views: readonly View[] = [
  words,
  { ...words, headSupport: 'folded towel', ...Object.fromEntries(flags.map((flag) => [flag, true])) },
  { ...words, eachSide: true, severalReps: true, severalSeconds: true },
  { ...words, headSupport: 'thin pillow', severalReps: true, severalSeconds: true, kneesBent: true },
];

/** Everything that an exercise may say, in every form and variant, each once for each part. */
export function spokenOf(exercise: Exercise): Spoken[] {
  const { bring: _noun, bringToFeet: _nounToo, ...wording } = exercise.wording;
  return Object.entries(wording).flatMap(([part, value]) =>
    textsIn(value as Part | undefined).map((text) => ({ exercise: exercise.id, part, text })),
  );
}

/** Everything that belongs to no one exercise. */
export function sharedSpoken({ phrases }: Catalogue): Spoken[] {
  const parts: readonly [string, Part][] = [
    ['greeting', phrases.greeting],
    ['beforeLyingDown', phrases.beforeLyingDown],
    ['bring', phrases.bring],
    ['bringToFeet', phrases.bringToFeet],
    ...changeNames.map((name): [string, Part] => [`changes.${name}`, phrases.changes[name]]),
    ['changes.settling', phrases.changes.settling],
    ['changes.takeYourTime', phrases.changes.takeYourTime],
    ['openingSafety', phrases.openingSafety],
    ['closing', phrases.closing],
    ['closingSafety', phrases.closingSafety],
    ['sideComing', phrases.sideComing],
    ['setDone', phrases.setDone],
    ['keepBreathing', phrases.keepBreathing],
    ...Object.entries(phrases.marks).map(([key, value]): [string, Part] => [`marks.${key}`, value]),
    ...Object.entries(phrases.dose).map(([key, value]): [string, Part] => [`dose.${key}`, value]),
  ];
  return parts.flatMap(([part, value]) =>
    textsIn(value).map((text) => ({ exercise: 'phrases', part, text })),
  );
}

/** One part of an exercise in all its forms. */
export function textsIn(part: Part | undefined): string[] {
  const rendered = phrasesIn(part).flatMap(({ full, short }) =>
    [full, ...(short === null ? [] : [short])].flatMap((template) =>
      views.map((view) => speak(template, view)),
    ),
  );
  return [...new Set(rendered)].filter((text) => text !== '');
}

function phrasesIn(part: Part | readonly Part[] | undefined): Phrase[] {
  if (part === undefined) return [];
  if (Array.isArray(part)) return part.flatMap((each: Part) => phrasesIn(each));
  if ('say' in part) return phrasesIn(part.say);
  return 'full' in part ? [part] : [];
}
