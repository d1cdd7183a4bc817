import type { ChangeKind } from '../catalogue/changeKinds.js';
import type { Line } from '../catalogue/wording.js';
import type { ChangeTimes } from '../program/schema.js';
import { type Context, isHeard, onSide, reminder, say } from './context.js';
import type { OwnTime, Say, Where } from './layout.js';
import { comfortFromMs, newToItTimes } from './rules.js';
import type { CueRole } from './timedScript.js';
import type { Change } from './walk.js';

/**
 * Returns the set-up, safety or talk lines that belong in this session. A line that moves the listener gets the time
 * for that change.
 */
export function sayLines(
  context: Context,
  role: CueRole,
  lines: readonly Line[],
  options: { key: string; where?: Where; resumeHere?: boolean; mayShorten?: boolean },
): Say[] {
  const spoken = lines.filter((line) => isHeard(context, line));
  return lines.flatMap((line, index) => {
    if (!isHeard(context, line)) return [];
    const key = `${options.key}${index}`;
    const { takes } = line;
    if (takes === undefined) {
      const silenceAfterMs = Math.round((line.pauseAfterSeconds ?? 0) * 1000);
      return say(context, role, line.say, { ...options, key, silenceAfterMs });
    }
    const sharing = isTimedAsOne(takes) ? spoken.filter((other) => other.takes === takes).length : 1;
    return say(context, 'change', line.say, {
      ...options,
      key,
      ownTime: ownTimeOf(context, takes, sharing, index),
      resumeHere: true,
    });
  });
}

/** Returns the lines that lead from one posture to the next, in order, each with its time. */
export function sayChanges(context: Context, changes: readonly Change[], where: Where): Say[] {
  return changes.flatMap(({ name, side }, index) =>
    sayLines(onSide(context, side, null), 'instruction', context.phrases.changes[name], {
      key: `change${index}${name}`,
      where,
    }),
  );
}

/**
 * Returns this person's own time for a change, longer where the words are new. A change that takes several lines but is
 * timed as a whole (standing to lying, or lying to sitting) is shared among its lines.
 */
function ownTimeOf(context: Context, kind: ChangeKind, sharing: number, index: number): OwnTime {
  const seconds = context.program.changeTimes[changeTimeKeys[kind]] / sharing;
  const ms = Math.round(seconds * 1000 * (context.first ? newToItTimes : 1));
  const comfort = ms < comfortFromMs ? null : reminder(context, context.phrases.changes.takeYourTime, index);
  return { kind, ms, comfort };
}

function isTimedAsOne(kind: ChangeKind): boolean {
  return kind === 'lying-down' || kind === 'sitting-up';
}

/**
 * Maps each change to the time that was measured for it. Moving across the bed is not timed separately; it is taken to
 * be as slow as lying down (our choice, no source).
 */
const changeTimeKeys: Readonly<Record<ChangeKind, keyof ChangeTimes>> = {
  'lying-down': 'lyingDownSeconds',
  'sitting-up': 'sittingUpSeconds',
  rolling: 'rollingSeconds',
  placing: 'placingSeconds',
  'moving-legs': 'movingLegsSeconds',
  'moving-across': 'lyingDownSeconds',
};
