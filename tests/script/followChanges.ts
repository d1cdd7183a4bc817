import { expect } from 'vitest';
import type { Catalogue } from '../../src/catalogue/catalogue.js';
import { type ChangeName, changeNames } from '../../src/catalogue/changeWords.js';
import { speak } from '../../src/catalogue/template.js';
import type { PrescribedExercise, PrescribedProgram } from '../../src/program/prescribed.js';
import type { Cue, Side, TimedScript } from '../../src/script/timedScript.js';

/**
 * Where a listener is, worked out from what is heard by a table of its own: what each change needs and where it leads.
 * Written apart from the script room.
 */

type Where =
  | 'standing'
  | 'edge'
  | 'side'
  | 'bent'
  | 'straight'
  | 'pillow'
  | 'left straight'
  | 'right straight';
const lyingOnBack: readonly Where[] = ['bent', 'straight', 'pillow', 'left straight', 'right straight'];

/** From where each change can be done, and where it ends; `side` is the side that its words name. */
const changeTable: Readonly<
  Record<
    ChangeName,
    { from: (side: 'left' | 'right') => readonly Where[]; to: (side: 'left' | 'right') => Where }
  >
> = {
  lyingDown: { from: () => ['standing'], to: () => 'bent' },
  sittingDown: { from: () => ['standing'], to: () => 'edge' },
  loweringToSide: { from: () => ['edge'], to: () => 'side' },
  rollingToSide: { from: () => ['bent'], to: () => 'side' },
  rollingToBack: { from: () => ['side'], to: () => 'bent' },
  bendingKnees: { from: () => ['straight'], to: () => 'bent' },
  straighteningLegs: { from: () => ['bent'], to: () => 'straight' },
  straighteningOneLeg: { from: () => ['bent'], to: (side) => `${side} straight` },
  bendingOneKnee: { from: () => ['straight'], to: (side) => `${side} straight` },
  bendingBothFromOne: { from: (side) => [`${side} straight`], to: () => 'bent' },
  straighteningBothFromOne: { from: (side) => [`${side} straight`], to: () => 'straight' },
  changingLegs: { from: (side) => [`${other(side)} straight`], to: (side) => `${side} straight` },
  placingKneePillow: { from: () => lyingOnBack, to: () => 'pillow' },
  removingKneePillow: { from: () => ['pillow'], to: () => 'bent' },
};

const sides = ['left', 'right'] as const;

function other(side: 'left' | 'right'): 'left' | 'right' {
  return side === 'left' ? 'right' : 'left';
}

type Heard = { name: ChangeName; side: 'left' | 'right'; isLast: boolean };

/** Every wording of every change, and what it is. */
export function changesByText(catalogue: Catalogue): ReadonlyMap<string, Heard> {
  const known = new Map<string, Heard>();
  for (const name of changeNames)
    for (const side of sides) {
      const lines = catalogue.phrases.changes[name];
      lines.forEach((line, index) => {
        const isLast = !lines.slice(index + 1).some(({ only }) => only === line.only);
        for (const { full, short } of line.say)
          for (const form of [full, short ?? full])
            known.set(speak(form, { side, otherSide: other(side) }), { name, side, isLast });
      });
    }
  return known;
}

/** Where the work of an exercise may be done. */
function allowedFor({ exercise }: PrescribedExercise, side: 'left' | 'right' | null): readonly Where[] {
  const { position, legs } = exercise.path.from;
  if (position === 'standing') return ['standing'];
  if (position === 'sitting-on-edge') return ['edge'];
  if (position === 'side-lying') return ['side'];
  if (legs === undefined) return lyingOnBack;
  return legs.map((posture): Where => {
    if (posture === 'one-bent') return `${side ?? 'left'} straight`;
    return posture === 'over-pillow' ? 'pillow' : posture;
  });
}

/** The words of an exercise's own set-up, in every form. */
function ownLines({ exercise }: PrescribedExercise): ReadonlySet<string> {
  const phrases = exercise.wording.setUp.flatMap(({ say }) => say);
  return new Set(phrases.flatMap(({ full, short }) => [full, short ?? full]).map((form) => speak(form, {})));
}

/** Where an exercise of its own accord leaves the listener, by the side done last; null where it ends as it began. */
function ledTo({ exercise }: PrescribedExercise, lastSide: Side): Where | null {
  const { from, to } = exercise.path;
  if (to === undefined || (to.position === from.position && to.legs === undefined)) return null;
  if (to.position === 'standing') return 'standing';
  if (to.position === 'sitting-on-edge') return 'edge';
  if (to.position === 'side-lying') return 'side';
  if (to.legs === 'one-bent') return `${lastSide} straight`;
  return to.legs === 'straight' ? 'straight' : 'bent';
}

/** Follows a script cue by cue and checks that each change can be done from where the listener is. */
export function follow(program: PrescribedProgram, script: TimedScript): void {
  const known = changesByText(program.catalogue);
  let where: Where = 'standing';
  const risen = new Set<string>();
  script.chapters.forEach((_, chapter) => {
    const prescribed = program.exercises[chapter - 1];
    let hasBegun = false;
    let lastSide: Side = 'left';
    for (const cue of script.cues.filter((each) => each.chapter === chapter)) {
      // An exercise that leads out of lying may say the same words as the session does; they are its own.
      const isOwnLine = prescribed !== undefined && ownLines(prescribed).has(cue.text ?? '');
      const change = cue.role === 'change' && !isOwnLine ? known.get(cue.text ?? '') : undefined;
      if (change !== undefined) {
        expect(risen, 'nobody is led down after getting up').toEqual(new Set());
        expect(changeTable[change.name].from(change.side), cue.text).toContain(where);
        if (change.isLast) where = changeTable[change.name].to(change.side);
      }
      const own = prescribed?.exercise.wording.changeSides
        .at(-1)
        ?.say.some(({ full, short }) =>
          sides.some((side) =>
            [full, short ?? full].some((form) => speak(form, { side, otherSide: other(side) }) === cue.text),
          ),
        );
      if (own === true && where.endsWith(' straight')) {
        where = where === 'left straight' ? 'right straight' : 'left straight';
      }
      if (prescribed === undefined || cue.beatMs === null) continue;
      hasBegun = true;
      lastSide = cue.side ?? lastSide;
      expect(
        allowedFor(prescribed, cue.side ?? null),
        `${prescribed.exercise.id} at ${cue.startMs} ms`,
      ).toContain(where);
    }
    if (prescribed === undefined) return;
    if (!hasBegun) expect(allowedFor(prescribed, null), prescribed.exercise.id).toContain(where);
    const heights: readonly Where[] = ['edge', 'standing'];
    const led = ledTo(prescribed, lastSide);
    if (led !== null && heights.includes(led) && led !== where) risen.add(prescribed.exercise.id);
    where = led ?? where;
  });
}

/** Milliseconds from the end of a change's words to the next words that are not company. */
export function timeAfter(catalogue: Catalogue, script: TimedScript, cue: Cue): number {
  const company = catalogue.phrases.changes.takeYourTime.map(({ full }) => full);
  const next = script.cues.find(
    ({ startMs, text }) => startMs >= cue.endMs && text !== undefined && !company.includes(text),
  );
  return (next?.startMs ?? script.durationMs) - cue.endMs;
}

/** Every change that the session leads, and the least time that it must have. */
export function timedChanges(
  program: PrescribedProgram,
  script: TimedScript,
): { cue: Cue; leastMs: number }[] {
  const known = changesByText(program.catalogue);
  const { changeTimes } = program;
  const secondsOf: Partial<Record<ChangeName, number>> = {
    rollingToSide: changeTimes.rollingSeconds,
    rollingToBack: changeTimes.rollingSeconds,
    sittingDown: changeTimes.sittingUpSeconds,
    loweringToSide: changeTimes.lyingDownSeconds,
    placingKneePillow: changeTimes.placingSeconds,
    removingKneePillow: changeTimes.placingSeconds,
  };
  return script.cues.flatMap((cue) => {
    const change = cue.role === 'change' ? known.get(cue.text ?? '') : undefined;
    if (change === undefined) return [];
    const isFirst = program.session.number === 1;
    const isNew = isFirst || program.exercises[cue.chapter - 1]?.isNew === true;
    // Three lines lead down where the words are new, two later; they share the time.
    const shared = changeTimes.lyingDownSeconds / (isNew ? 3 : 2);
    const seconds =
      change.name === 'lyingDown' ? shared : (secondsOf[change.name] ?? changeTimes.movingLegsSeconds);
    return [{ cue, leastMs: Math.floor(seconds * 1000 * (isNew ? 1.5 : 1)) }];
  });
}

export const isCompany = (catalogue: Catalogue, text: string | undefined) =>
  catalogue.phrases.changes.takeYourTime.some(({ full }) => full === text);
