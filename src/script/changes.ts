import type { ChangeKind } from '../catalogue/changeKinds.js';
import type { Line } from '../catalogue/wording.js';
import type { ChangeTimes } from '../program/schema.js';
import { type Context, isHeard, onSide, reminder, say } from './context.js';
import type { OwnTime, Say, Where } from './layout.js';
import { comfortFromMs, newToItTimes } from './rules.js';
import type { CueRole } from './timedScript.js';
import type { Change } from './walk.js';

/** Lines of set-up, safety or talk that belong in this session; one that takes a change is given its time. */
export function sayLines(
  context: Context,
  role: CueRole,
  lines: readonly Line[],
  options: { key: string; where?: Where; resumeHere?: boolean; mayShorten?: boolean },
): Say[] {
  const heard = lines.filter((line) => isHeard(context, line));
  return lines.flatMap((line, index) => {
    if (!isHeard(context, line)) return [];
    const key = `${options.key}${index}`;
    const { takes } = line;
    if (takes === undefined) {
      const silenceAfterMs = Math.round((line.pauseAfterSeconds ?? 0) * 1000);
      return say(context, role, line.say, { ...options, key, silenceAfterMs });
    }
    const sharing = isTimedAsOne(takes) ? heard.filter((other) => other.takes === takes).length : 1;
    return say(context, 'change', line.say, {
      ...options,
      key,
      ownTime: ownTimeOf(context, takes, sharing, index),
      resumeHere: true,
    });
  });
}

/** What leads from one posture to the next, in order, each with its time. */
export function sayChanges(context: Context, changes: readonly Change[], where: Where): Say[] {
  return changes.flatMap(({ name, side }, index) =>
    sayLines(onSide(context, side, null), 'instruction', context.phrases.changes[name], {
      key: `change${index}${name}`,
      where,
    }),
  );
}

/**
 * This person's own time for a change; more of it where the words are new. One that is told in several lines and timed
 * as a whole, from standing to lying or from lying to sitting, is shared among them.
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

/** Moving across the bed is as slow for a person as lying down, and is not timed by itself (our choice, no source). */
const changeTimeKeys: Readonly<Record<ChangeKind, keyof ChangeTimes>> = {
  'lying-down': 'lyingDownSeconds',
  'sitting-up': 'sittingUpSeconds',
  rolling: 'rollingSeconds',
  placing: 'placingSeconds',
  'moving-legs': 'movingLegsSeconds',
  'moving-across': 'lyingDownSeconds',
};
