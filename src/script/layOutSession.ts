import type { Wording as PhraseWording } from '../catalogue/wording.js';
import type { PrescribedExercise, PrescribedProgram } from '../program/prescribed.js';
import { sayChanges, sayLines } from './changes.js';
import { type Context, exerciseContext, say, sessionContext } from './context.js';
import type { Block, Say } from './layout.js';
import type { Wording } from './measure.js';
import { exerciseGapMs, headSilenceMs } from './rules.js';
import { saySettledGettingUp, saySettledGoingDown, saySettledInOpening } from './settledWords.js';
import { layOutBreath } from './shapes/breath.js';
import { frame } from './shapes/frame.js';
import { layOutHold } from './shapes/hold.js';
import { layOutSustained } from './shapes/sustained.js';
import { layOutTempo } from './shapes/tempo.js';
import type { CueRole } from './timedScript.js';
import { isLying, type Posture, type Walk, walk } from './walk.js';

/**
 * First pass: lays out the whole session as blocks of talk and work, with every wording that might be needed. Every
 * session has the opening and the closing with their cautions, whatever the program lists.
 *
 * @param brief uses the short form of set-up wording, to meet a time budget
 */
export function layOut(program: PrescribedProgram, brief: boolean): Block[] {
  const { phrases } = program.catalogue;
  const way = walk(program);
  return [
    { title: phrases.titles.opening, items: layOutOpening(program, brief, way) },
    ...program.exercises.map((prescribed, index) => {
      const step = way.steps[index];
      if (step === undefined) throw new RangeError('a walk has one step for each exercise');
      return layOutExercise(prescribed, exerciseContext(program, brief, prescribed, step));
    }),
    { title: phrases.titles.closing, items: layOutClosing(program, brief, way.end) },
  ];
}

/**
 * Lays out the greeting, the reasons not to begin, and the things to get ready, all before the listener lies down; then
 * the cautions.
 */
function layOutOpening(program: PrescribedProgram, brief: boolean, way: Walk): Say[] {
  const { phrases } = program.catalogue;
  const opening = sessionContext(program, brief, { place: 'opening', legs: 'bent' });
  const things = new Set(program.exercises.flatMap(({ exercise }) => exercise.wording.bring ?? []));
  if (way.steps.some(({ changes }) => changes.some(({ name }) => name === 'placingKneePillow'))) {
    things.add(phrases.changes.kneePillow);
  }
  const thingsAtFeet = new Set(
    program.exercises.flatMap(({ exercise }) => exercise.wording.bringToFeet ?? []),
  );
  return [
    ...startingHere(sayLines(opening, 'instruction', phrases.greeting, { key: 'greeting' }), headSilenceMs),
    ...sayLines(opening, 'safety', phrases.beforeLyingDown, { key: 'before' }),
    ...sayThings(opening, things, phrases.bring),
    ...sayThings(opening, thingsAtFeet, phrases.bringToFeet),
    ...saySettledGoingDown(opening),
    ...sayChanges(opening, way.opening, {}),
    ...sayLines(opening, 'safety', phrases.openingSafety, { key: 'safety' }),
    ...saySettledInOpening(opening),
  ];
}

function sayThings(opening: Context, things: ReadonlySet<string>, wording: PhraseWording): Say[] {
  return [...things].flatMap((thing) =>
    say({ ...opening, view: { ...opening.view, thing } }, 'instruction', wording, { key: thing }),
  );
}

/** Lays out the ending, how to get up from the position of the last exercise, and when to call. */
function layOutClosing(program: PrescribedProgram, brief: boolean, end: Posture): Say[] {
  const { phrases } = program.catalogue;
  const closing = sessionContext(program, brief, { place: 'closing', legs: end.legs });
  const gettingUp = isLying(end.position) ? 'lying' : end.position === 'standing' ? 'standing' : 'sitting';
  return [
    ...startingHere(sayLines(closing, 'finish', phrases.closing, { key: 'closing' }), exerciseGapMs),
    ...(gettingUp === 'standing' ? [] : saySettledGettingUp(closing)),
    ...sayLines(closing, 'safety', phrases.gettingUp[gettingUp], { key: `gettingUp ${gettingUp}` }),
    ...sayLines(closing, 'safety', phrases.closingSafety, { key: 'safety' }),
  ];
}

function layOutExercise(prescribed: PrescribedExercise, context: Context): Block {
  switch (prescribed.timing) {
    case 'sustained':
      return layOutSustained(prescribed, context);
    case 'hold':
      return layOutHold(prescribed, context);
    case 'breath':
      return layOutBreath(prescribed, context);
    case 'tempo':
      return layOutTempo(prescribed, context);
    case 'talk':
      return frame(prescribed, context, []);
  }
}

function startingHere(lines: Say[], gapBeforeMs: number): Say[] {
  return lines.map((line, index) => (index === 0 ? { ...line, gapBeforeMs, resumeHere: true } : line));
}

/** Returns every distinct wording of a layout, in order of first use. */
export function wordingsIn(blocks: readonly Block[]): Wording[] {
  const crispByText = new Map<string, boolean>();
  const add = (words: readonly string[], crisp: boolean) => {
    for (const text of words) {
      if (text !== '') crispByText.set(text, crisp || crispByText.get(text) === true);
    }
  };
  const addSay = ({ words, ownTime }: Say) => {
    add(words, false);
    add(ownTime?.comfort ?? [], false);
  };
  for (const item of blocks.flatMap((block) => block.items)) {
    if (item.item === 'say') {
      addSay(item);
      continue;
    }
    item.changes.forEach(addSay);
    item.position.forEach(addSay);
    for (const { role, words } of item.lead) add(words, role === 'start');
    for (const { role, words } of item.beats) add(words ?? [], crispRoles.includes(role));
    for (const { words } of item.fillers) add(words, false);
    add(item.restWords?.words ?? [], false);
  }
  return [...crispByText].map(([text, crisp]) => ({ text, crisp }));
}

/** Roles whose words fall on beats one second apart. */
const crispRoles: readonly CueRole[] = ['start', 'count', 'lift', 'hold', 'lower'];
