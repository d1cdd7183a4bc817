import type { PrescribedExercise } from '../../program/prescribed.js';
import { sayChanges, sayLines } from '../changes.js';
import { type Context, onSide, reminder, say, share, wordsOf } from '../context.js';
import { isKept } from '../fading.js';
import type { Block, Item, Say, Train, Where, Words } from '../layout.js';
import type { WorkSet } from '../repetitions.js';
import { exerciseGapMs, settleMs } from '../rules.js';
import { saySettled } from '../settledWords.js';
import type { Side } from '../timedScript.js';
import { changesOfSide } from '../walk.js';

/** A short rest has room for few words; this many reminders are tried, one after the other. */
const restChoices = 3;

/**
 * Lays out the parts that exercises of every timing shape have in common, around the work itself. Set-up that is done
 * at once comes first, then the cautions and the dose, and last the explanation: the command follows within ten seconds
 * of it. A starting position that nobody should hold while listening is taken up between the explanation and the
 * command.
 *
 * Rule S7: safety words are spoken in every session, at every coaching density and in every time budget.
 */
export function frame(prescribed: PrescribedExercise, context: Context, work: readonly Item[]): Block {
  const { exercise, timing } = prescribed;
  const where: Where = { exercise: exercise.id };
  const { introduce, setUp, safety, explain, finish, clearUp } = exercise.wording;
  const dose = timing === 'talk' ? null : context.phrases.dose[timing];
  const note = prescribed.note === null ? null : [{ full: prescribed.note, short: null }];
  const warnings = sayLines(context, 'safety', safety, { key: 'safety', where });
  const explanation = sayLines(context, 'explanation', explain, { key: 'explain', where });
  const items: Item[] = [
    ...say(context, 'instruction', introduce, {
      key: 'introduce',
      where,
      gapBeforeMs: exerciseGapMs,
      resumeHere: true,
    }),
    ...(note === null ? [] : say(context, 'note', note, { key: 'note', where })),
    ...saySettled(context, where),
    // In a talk the set-up lines are the work itself, so its warnings and explanation come first.
    ...(timing === 'talk' ? [...warnings, ...explanation] : []),
    ...sayChanges(context, context.step?.changes ?? [], where),
    // Resuming during a talk must not send a listener who is already getting up back to lying down.
    ...sayLines(context, 'instruction', setUp, { key: 'setUp', where, resumeHere: timing === 'talk' }),
    ...(timing === 'talk' ? [] : warnings),
    ...(dose === null ? [] : say(context, 'instruction', dose, { key: 'dose', where })),
    ...(timing === 'hold'
      ? say(context, 'safety', context.phrases.keepBreathing, { key: 'keepBreathing', where })
      : []),
    ...(timing === 'talk' ? [] : explanation),
  ];
  return {
    title: exercise.name,
    exercise: exercise.id,
    items: [
      // Taking up a starting position already gives the listener time to settle.
      ...(exercise.wording.startingPosition.length > 0 ? items : settled(items)),
      ...work,
      // A sustained exercise ends with these words on its last beat.
      ...(timing === 'sustained' ? [] : say(context, 'finish', finish, { key: 'finish', where })),
      ...sayLines(context, 'instruction', clearUp, { key: 'clearUp', where }),
    ],
  };
}

/**
 * Returns the lines between two sides: what to move for the next one, in the exercise's own words, or the change of
 * legs.
 */
export function sideChanges(
  prescribed: PrescribedExercise,
  context: Context,
  sides: { previous: Side | null; next: Side | null; key: string | number },
): Say[] {
  const { previous, next } = sides;
  if (previous === null || next === null || previous === next) return [];
  const where: Where = { exercise: prescribed.exercise.id };
  const { changeSides } = prescribed.exercise.wording;
  const sided = onSide(context, next, previous);
  if (changeSides.length > 0) {
    return sayLines(sided, 'change', changeSides, { key: `changeSides${sides.key}`, where });
  }
  return context.step === null ? [] : sayChanges(sided, changesOfSide(context.step, previous, next), where);
}

/** Returns whether the listener must move anything between two sides. */
export function movesBetweenSides(prescribed: PrescribedExercise, context: Context): boolean {
  return sideChanges(prescribed, context, { previous: 'left', next: 'right', key: '' }).length > 0;
}

/**
 * Returns the words before the first repetition of a set: the side, when it changes, then the notice that the set
 * begins.
 */
export function setLead(
  context: Context,
  workSet: WorkSet,
  prepare: Words,
): { role: 'prepare'; words: Words }[] {
  const ready = { role: 'prepare' as const, words: prepare };
  if (workSet.side === null || context.view.eachSide !== true || workSet.set > 1) return [ready];
  const words = wordsOf(
    onSide(context, workSet.side, null),
    context.phrases.sideComing,
    'sideComing',
    workSet.side,
  );
  return [{ role: 'prepare', words }, ready];
}

/**
 * Returns the words for the rest before a repetition: which set comes next, or a reminder if this one is not faded out.
 */
export function restWords(
  context: Context,
  pool: PrescribedExercise['exercise']['wording']['coaching'],
  occasion: { setIndex: number; repIndex: number; restNumber: number },
): Train['restWords'] {
  if (occasion.repIndex > 0) {
    if (!isKept(occasion.restNumber, share(context))) return null;
    const [first, ...others] = Array.from({ length: restChoices }, (_, choice) =>
      reminder(context, pool, occasion.restNumber + choice),
    ).flatMap((words) => words ?? []);
    return first === undefined ? null : { role: 'coaching', words: [first, ...others] };
  }
  if (occasion.setIndex === 0) return null;
  const rest = { ...context, view: { ...context.view, restSeconds: context.view.setRestSeconds } };
  return { role: 'rest', words: wordsOf(rest, context.phrases.setDone, 'setDone', occasion.setIndex) };
}

/** Returns the prescribed rest before a repetition, in milliseconds. */
export function restBeforeMs(
  dose: { restSeconds: number; setRestSeconds: number },
  setIndex: number,
  repIndex: number,
): number {
  if (repIndex > 0) return Math.round(dose.restSeconds * 1000);
  return setIndex === 0 ? 0 : Math.round(dose.setRestSeconds * 1000);
}

/** Adds a moment of silence between the last instruction and the first repetition. */
function settled(items: readonly Item[]): Item[] {
  return items.map((item, index) =>
    index === items.length - 1 && item.item === 'say'
      ? { ...item, silenceAfterMs: Math.max(item.silenceAfterMs, settleMs) }
      : item,
  );
}
