import { existsSync } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Catalogue } from '../../src/catalogue/catalogue.js';
import type { Exercise } from '../../src/catalogue/schema.js';
import { readProgram } from '../../src/program/readProgram.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { wordsMissingFrom } from '../listening/grammar.js';
import { sentencesOf, wordsOf } from '../listening/words.js';
import { type Spoken, sharedSpoken, spokenOf, textsIn } from './spoken.js';

/**
 * What is heard, read as words. The listener lies down with closed eyes and is often hard of hearing. The limits of
 * length are the project's own requirement; the dictionary is an outside one (CMU, as packaged with PocketSphinx).
 */

const longestWhileMoving = 15;
const longestSentence = 20;
const dictionary = '/usr/share/pocketsphinx/model/en-us/cmudict-en-us.dict';

/** Parts said during a movement or just before it. */
const whileMoving = [
  'prepare',
  'start',
  'lift',
  'hold',
  'lower',
  'firstIn',
  'nextIn',
  'out',
  'comeBack',
  'release',
  'begin',
  'coaching',
  'startingPosition',
  'leavePosition',
  'changeSides',
  'clearUp',
  'finish',
  'setDone',
  'sideComing',
];

/** Not American, not plain, or not what a colleague would say. */
const banned: readonly RegExp[] = [
  /\ball in one piece\b/i,
  /\beasy (shoulders|knees)\b/i,
  /\bmake yourself at home\b/i,
  /\btowards\b/i,
  /\ba faint\b/i,
  /\byour seat\b/i,
  /\bas far as it is easy\b/i,
  /\bunder one (knee|leg|foot)\b/i,
  /\bone (knee|leg|foot|thigh|heel|hand) (straight|bent)\b/i,
  /\blean (forward|over)\b/i,
  /\bhold your breath\b(?<!never hold your breath)/i,
  /[:;—–]/,
];

const starters = ['first', 'progressed', 'after-joint-replacement', 'breathing-and-relaxation'];

let catalogue: Catalogue;
let spoken: readonly Spoken[];

beforeAll(async () => {
  const english = (await readCatalogues('audio-templates')).get('en');
  if (english === undefined) throw new Error('the English catalogue is missing');
  catalogue = english;
  spoken = [
    ...[...catalogue.exercises.values()].flatMap(spokenOf),
    ...sharedSpoken(catalogue),
    ...(await Promise.all(starters.map(notesOf))).flat(),
  ];
});

/** The notes of a starter program are heard too. */
async function notesOf(name: string): Promise<Spoken[]> {
  const path = `audio-templates/en/programs/${name}.yaml`;
  const program = readProgram(await readFile(path, 'utf8'), path, new Map([['en', catalogue]]));
  return program.exercises.flatMap(({ note }) =>
    note === null ? [] : [{ exercise: name, part: 'note', text: note }],
  );
}

const exercises = (): Exercise[] => [...catalogue.exercises.values()];

function longestOf({ exercise, part }: Spoken): number {
  const moves = part === 'setUp' && catalogue.exercises.get(exercise)?.timing === 'talk';
  return moves || part.startsWith('changes.') || whileMoving.includes(part)
    ? longestWhileMoving
    : longestSentence;
}

/** The sentences of a text with the word that each begins with, in lower case. */
function openings(text: string): string[] {
  return sentencesOf(text).map((sentence) => wordsOf(sentence)[0] ?? '');
}

describe('every sentence that may be heard', () => {
  it('is short enough: 15 words while moving, 20 at any other time', () => {
    const long = spoken.flatMap((each) =>
      sentencesOf(each.text)
        .filter((sentence) => wordsOf(sentence).length > longestOf(each))
        .map((sentence) => `${each.exercise} ${each.part}: ${sentence.trim()}`),
    );
    expect(long).toEqual([]);
  });

  it('is plain American English without the words that were weeded out', () => {
    const found = spoken.filter(({ text }) => banned.some((pattern) => pattern.test(text)));
    expect(found).toEqual([]);
  });

  it.skipIf(!existsSync(dictionary))('has only words that an outside dictionary knows', async () => {
    const names = /\bRosa\b/g;
    expect(
      await wordsMissingFrom(
        dictionary,
        spoken.map(({ text }) => text.replace(names, '')),
      ),
    ).toEqual([]);
  });
});

describe('before the word of command', () => {
  const tellers = 'when as your you it the this then both each that there they i nothing no in'.split(' ');

  it('an explanation tells what will come and never commands', () => {
    const commanding = spoken.filter(
      ({ part, text }) => part === 'explain' && openings(text).some((word) => !tellers.includes(word)),
    );
    expect(commanding).toEqual([]);
  });

  it('the dose is told, not commanded', () => {
    for (const { part, text } of spoken) {
      if (!part.startsWith('dose.')) continue;
      for (const opening of openings(text)) expect([...tellers, 'this'], text).toContain(opening);
    }
  });

  it('no sentence of introduction, set-up, safety or explanation begins with the verb of the command', () => {
    const tooSoon = exercises().flatMap((exercise) => {
      const verbs = commandVerbs(exercise);
      const { introduce, setUp, safety, explain, startingPosition } = exercise.wording;
      // What takes this person's own time is done at once, and no command follows it.
      const still = exercise.timing === 'talk' ? [] : setUp.filter(({ takes }) => takes === undefined);
      return [introduce, still, safety, explain, startingPosition]
        .flatMap((part) => textsIn(part))
        .filter((text) => openings(text).some((word) => verbs.includes(word)))
        .map((text) => `${exercise.id}: ${text}`);
    });
    expect(tooSoon).toEqual([]);
  });

  it('a reminder in a rest never sounds like the next command', () => {
    const moves = 'press squeeze tighten lift lower raise slide turn move bend point spread go stretch'.split(
      ' ',
    );
    const sudden = exercises()
      .filter(({ timing }) => timing === 'hold' || timing === 'tempo')
      .flatMap(spokenOf)
      .filter(({ part, text }) => part === 'coaching' && openings(text).some((word) => moves.includes(word)));
    expect(sudden).toEqual([]);
  });

  it('a first explanation names the word of command, and the last word too', () => {
    const unnamed = exercises().flatMap((exercise) => {
      if (exercise.timing !== 'hold' && exercise.timing !== 'tempo') return [];
      const first = exercise.wording.explain.filter(({ only }) => only !== 'later');
      const told = wordsOf(first.flatMap((line) => textsIn(line)).join(' ')).join(' ');
      const named =
        exercise.timing === 'hold'
          ? [exercise.wording.start, exercise.wording.release]
          : [exercise.wording.lift, exercise.wording.lower];
      return named
        .map(([command]) => wordsOf((command?.full ?? '').replace(/^And /, '')).join(' '))
        .filter((bare) => !told.includes(`when i say ${bare}`))
        .map((bare) => `${exercise.id}: ${bare}`);
    });
    expect(unnamed).toEqual([]);
  });

  it('an explanation is heard in the time that a listener can keep it', () => {
    // Our own bound: 40 words, about 17 s at 140 words a minute; no published source.
    for (const { id, wording } of exercises()) {
      const forms = ['first', 'later'] as const;
      for (const form of forms) {
        const lines = wording.explain.filter(({ only }) => only === undefined || only === form);
        const longest = lines.map((line) => Math.max(...textsIn(line).map((text) => wordsOf(text).length)));
        expect(
          longest.reduce((sum, count) => sum + count, 0),
          id,
        ).toBeLessThanOrEqual(40);
      }
    }
  });
});

describe('the set-up', () => {
  /** Words by which arms, legs or head come up and stay up. */
  const raising =
    /\b(raise|lift|reach|hug)\b|\b(bring|take|point|hold|keep)\b[^.]*\b(up|above|off)\b|\b(arms?|hands?|elbows?|knees?|fingertips)\b[^.]*\b(up|above|at your forehead)\b/i;

  /** Set-up that matches and is no effort to keep while listening, each with the reason. */
  const restful: Readonly<Record<string, string>> = {
    'arm-slides': 'only the palms face up, the arms lie',
    'rest-arms-open': 'only the palms face up, the arms lie',
    'shoulder-blade-setting': 'only the palms face up, the arms lie',
    'growing-long': 'only the palms, the face and the toes point up, everything lies',
    'arm-reach': 'only the thumbs point up, the arms lie',
    'straight-leg-raise': 'the toes point up because the leg is not rolled out; the heel rests',
    'leg-slide-out': 'the toes point up because the leg is not rolled out; the heel rests',
    'thigh-press': 'the toes point up because the leg is not rolled out; the heel rests',
    'thigh-tightening': 'the toes point up because the leg is not rolled out; the heel rests',
    'diagonal-reach': 'the toes point up because the leg is not rolled out; the heel rests',
    'hamstring-stretch': 'the foot goes into the loop and is set down again in the same sentence',
    'heel-prop': 'the ankle goes onto the roll and rests there; "reach" is what is not to be done',
    'upper-back-roll': 'the helper lays the roll; "reach" is what is not to be done',
  };

  it('keeps arms, legs and head down while the listener is still listening', () => {
    const raised = exercises()
      .filter(({ timing }) => timing !== 'talk')
      .flatMap(({ id, wording }) => textsIn(wording.setUp).map((text) => ({ id, text })))
      .filter(({ id, text }) => raising.test(text) && restful[id] === undefined);
    expect(raised).toEqual([]);
    for (const id of Object.keys(restful)) {
      const { wording } = catalogue.exercises.get(id) ?? {};
      const texts = textsIn(wording?.setUp);
      expect(
        texts.some((text) => raising.test(text)),
        `${id} is an exception that nothing needs`,
      ).toBe(true);
      expect(texts.join(' '), id).not.toMatch(/\b(arms?|hands?|elbows?) (straight )?(up|above)\b/i);
    }
  });

  it('leaves what has to be raised to a starting position, which names no side', () => {
    const raising = [
      'ceiling-reach',
      'band-pull-apart',
      'elbow-opening',
      'upper-arm-press',
      'shoulder-rotation',
    ];
    for (const id of raising)
      expect(catalogue.exercises.get(id)?.wording.startingPosition.length, id).toBeGreaterThan(0);
    // Sides may take turns, and a position is kept by both.
    for (const { id, wording } of exercises())
      for (const text of textsIn(wording.startingPosition)) expect(text, id).not.toMatch(/\b(left|right)\b/);
  });
});

describe('a word of command', () => {
  it('has one to three words, always the same ones', () => {
    const varied = exercises().filter((exercise) => commandsOf(exercise).some(({ length }) => length > 1));
    expect(varied.map(({ id }) => id)).toEqual([]);
    const long = exercises()
      .flatMap((exercise) => commandsOf(exercise).flatMap((command) => textsIn(command)))
      .filter((text) => wordsOf(text).length > 3);
    expect(long).toEqual([]);
  });
});

describe('what one side needs', () => {
  const placed = /\b(under|around|behind) (your|that) (left )?(knee|foot|thigh|leg)\b/i;

  it('is moved for the other side wherever it was put on one', () => {
    for (const { id, wording, sidedness } of exercises()) {
      const places = textsIn(wording.setUp).some((text) => placed.test(text));
      if (sidedness === 'one-side' && places) expect(wording.changeSides, id).not.toEqual([]);
      for (const text of textsIn(wording.changeSides)) expect(text, id).toMatch(/\b(left|right)\b/);
    }
  });

  it('is taken off one side before it is put on the other', () => {
    // The views speak of the left as the next side, so that the right is the one before.
    const worn = exercises().filter(
      ({ wording, equipment }) => wording.changeSides.length > 0 && /strap|roll/.test(equipment.join(' ')),
    );
    expect(worn.map(({ id }) => id)).toEqual(
      expect.arrayContaining(['hamstring-stretch', 'heel-prop', 'knee-straightening', 'strap-knee-bend']),
    );
    for (const { id, wording } of worn) {
      const variants = Math.max(...wording.changeSides.map(({ say }) => say.length));
      for (let variant = 0; variant < variants; variant++) {
        const lines = wording.changeSides.flatMap(({ say }) => textsIn(say.slice(variant, variant + 1)));
        const text = lines.join(' ');
        const [before, next] = [text.search(/\bright\b/), text.search(/\bleft\b/)];
        expect(before, `${id}: ${text}`).toBeGreaterThanOrEqual(0);
        expect(before, `${id}: ${text}`).toBeLessThan(next);
      }
    }
  });

  it('is given a time of its own kind: lying down and sitting up only where the exercise leads there', () => {
    for (const { id, wording, path } of exercises()) {
      const { setUp, explain, startingPosition, changeSides, clearUp } = wording;
      const kinds = [...setUp, ...explain, ...startingPosition, ...changeSides, ...clearUp].map(
        ({ takes }) => takes,
      );
      const to = path.to?.position ?? path.from.position;
      if (to === path.from.position) expect(kinds, id).not.toContain('lying-down');
      if (to === path.from.position) expect(kinds, id).not.toContain('sitting-up');
    }
    const edge = catalogue.exercises.get('hip-flexor-edge')?.wording.changeSides;
    expect(edge?.map(({ takes }) => takes)).toContain('moving-across');
  });

  it('is named with its side in the set-up of every one-sided exercise', () => {
    const oneOfTwo = /\b(knee|leg|foot|heel|ankle|thigh)\b/;
    const unsided = exercises()
      .filter(({ sidedness }) => sidedness === 'one-side')
      .flatMap(({ id, wording }) => wording.setUp.map((line) => ({ id, line })))
      .flatMap(({ id, line }) => textsIn(line).map((text) => ({ id, text })))
      .filter(({ text }) => oneOfTwo.test(text) && !/\b(left|right|that)\b/i.test(text));
    expect(unsided).toEqual([]);
  });

  it('is taken away again by its own line, with this person’s time for it', () => {
    for (const { id, wording } of exercises()) {
      if (!wording.setUp.some(({ takes }) => takes === 'placing')) continue;
      expect(wording.clearUp.length, id).toBeGreaterThan(0);
      for (const { takes } of wording.clearUp) expect(takes, id).toBeDefined();
    }
  });
});

describe('safety words', () => {
  it('say in two sentences when to call the emergency number, in every session alike', () => {
    const lines = catalogue.phrases.openingSafety.filter(({ say }) =>
      say.some(({ full }) => full.startsWith('Call the emergency number')),
    );
    expect(lines).toHaveLength(1);
    const [line] = lines;
    expect(line?.only).toBeUndefined();
    const texts = textsIn(line);
    expect(texts).toHaveLength(1);
    const [text] = texts;
    expect(sentencesOf(text ?? '')).toHaveLength(2);
    // Warning signs of a heart attack, a stroke and fainting, as hospital leaflets on home exercise list them.
    const signs =
      'chest|jaw|arm|shoulder blades|cold sweat|fainting|breathing|headache|weakness|numbness|speaking|seeing';
    for (const sign of signs.split('|')) expect(text).toContain(sign);
  });

  it('ask about the calf once a session, before lying down, as newly swollen, hot and painful', () => {
    const calves = spoken.filter(({ text }) => /newly swollen/.test(text));
    expect(calves.map(({ part }) => part)).toEqual(['beforeLyingDown']);
    expect(calves[0]?.text).toMatch(/newly swollen, hot and painful, do not begin/);
    const elsewhere = spoken.filter(({ text }) => /calf is|hot, swollen/.test(text));
    expect(elsewhere.map(({ part }) => part)).toEqual(['beforeLyingDown']);
  });

  it('never ask for more bend or crossing than somebody may have been allowed', () => {
    // After hip replacement: no deep bend, no crossing; common practice, the surgeon's restrictions come first.
    const moving = exercises().filter(({ loadTags }) => loadTags.includes('position-change'));
    expect(moving.length).toBeGreaterThanOrEqual(4);
    for (const { text } of moving.flatMap(spokenOf))
      expect(text).not.toMatch(/\b(lean|bend forward|cross (your|the) (legs?|ankles?|feet))\b/i);
  });
});

/** Words that stand on beats. */
function commandsOf(exercise: Exercise) {
  const { timing } = exercise;
  if (timing === 'hold') return [exercise.wording.start, exercise.wording.release];
  if (timing !== 'tempo') return [];
  const { lift, hold, lower, release } = exercise.wording;
  return [lift, hold, lower, release];
}

/** The verbs of the words of command: "press" of "And press.". Placing words such as "up" are none. */
function commandVerbs(exercise: Exercise): string[] {
  const none = 'and up down out in back hips leg heel knee toes let go wait stay rest'.split(' ');
  return commandsOf(exercise)
    .flatMap((command) => textsIn(command))
    .flatMap(wordsOf)
    .filter((word) => !none.includes(word));
}
