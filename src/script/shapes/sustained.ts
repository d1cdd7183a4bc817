import type { PrescribedOf } from '../../program/prescribed.js';
import { type Context, onSide, reminder, share, spell, wordsOf } from '../context.js';
import type { Beat, Block, Filler, Train, Where } from '../layout.js';
import { workSets } from '../repetitions.js';
import { positionBefore } from '../startingPosition.js';
import type { Side } from '../timedScript.js';
import { frame, sideChanges } from './frame.js';

/** How often a reminder comes when all of them are spoken: sparse enough to rest in between. */
const reminderEverySeconds = 60;
const firstReminderAtSeconds = 25;

/** Whole minutes remaining that are announced, once at least `markAfterSeconds` have passed. */
const announcedMinutes = [15, 10, 5, 3, 1];
const markAfterSeconds = 60;

/** Lays out a sustained exercise: a duration with sparse reminders, time marks and an unhurried ending. */
export function layOutSustained(prescribed: PrescribedOf<'sustained'>, context: Context): Block {
  let previous: Side | null = null;
  const trains = workSets(prescribed.side, 1, 1).flatMap((workSet) =>
    workSet.repetitions.map((repetition): Train => {
      const sided = onSide(context, repetition.side, null);
      const changes = sideChanges(prescribed, context, { previous, next: repetition.side, key: 1 });
      const { take } = positionBefore(prescribed, sided, {
        ...{ isFirst: previous === null, startsSet: true, restBeforeMs: 0 },
        key: repetition.side ?? '',
      });
      previous = repetition.side;
      const where: Where = {
        exercise: prescribed.exercise.id,
        set: 1,
        rep: 1,
        ...(repetition.side === null ? {} : { side: repetition.side }),
      };
      return {
        item: 'train',
        lead:
          context.view.eachSide === true
            ? [{ role: 'prepare', words: wordsOf(sided, context.phrases.sideComing, 'sideComing') }]
            : [],
        beats: sustainedBeats(prescribed, sided, where),
        fillers: [...timeMarks(prescribed, sided, where), ...reminders(prescribed, sided, where)],
        lengthMs: prescribed.dose.durationSeconds * 1000,
        restBeforeMs: 0,
        restWords: null,
        changes,
        position: take,
        where,
        resumeHere: true,
      };
    }),
  );
  return frame(prescribed, context, trains);
}

function sustainedBeats(
  prescribed: PrescribedOf<'sustained'>,
  context: Context,
  where: Where,
): [Beat, ...Beat[]] {
  const { begin, finish } = prescribed.exercise.wording;
  const common = {
    alignBy: 'onset' as const,
    kind: 'speech' as const,
    where,
    roomPath: `exercises[${prescribed.index}].dose.durationSeconds`,
    resumeHere: false,
  };
  return [
    { ...common, atMs: 0, role: 'begin', words: wordsOf(context, begin, 'begin') },
    {
      ...common,
      atMs: Math.round(prescribed.dose.durationSeconds * 1000),
      role: 'finish',
      words: wordsOf(context, finish, 'finish'),
    },
  ];
}

function timeMarks(prescribed: PrescribedOf<'sustained'>, context: Context, where: Where): Filler[] {
  const { durationSeconds } = prescribed.dose;
  const { minutesLeft, oneMinuteLeft, halfMinuteLeft } = context.phrases.marks;
  const mark = (secondsLeft: number, words: Filler['words']): Filler => ({
    atMs: Math.round((durationSeconds - secondsLeft) * 1000),
    slackMs: 2_000,
    role: 'time-mark',
    words,
    where,
    resumeHere: true,
  });
  const minutes = announcedMinutes
    .filter((left) => durationSeconds - left * 60 >= markAfterSeconds)
    .map((left) => {
      if (left === 1) return mark(60, wordsOf(context, oneMinuteLeft, 'mark', left));
      const view = { ...context.view, minutes: spell(context.phrases, left) };
      return mark(left * 60, wordsOf({ ...context, view }, minutesLeft, 'mark', left));
    });
  const short = durationSeconds >= 60 && durationSeconds < 120;
  return short ? [mark(30, wordsOf(context, halfMinuteLeft, 'mark', 0))] : minutes;
}

function reminders(prescribed: PrescribedOf<'sustained'>, context: Context, where: Where): Filler[] {
  const spokenShare = share(context);
  if (spokenShare === 0) return [];
  const everySeconds = reminderEverySeconds / spokenShare;
  const count = Math.max(
    0,
    Math.floor((prescribed.dose.durationSeconds - 2 * firstReminderAtSeconds) / everySeconds) + 1,
  );
  return Array.from({ length: count }, (_, index) => index).flatMap((index): Filler[] => {
    const words = reminder(context, prescribed.exercise.wording.coaching, index);
    if (words === null) return [];
    const atMs = Math.round((firstReminderAtSeconds + index * everySeconds) * 1000);
    return [{ atMs, slackMs: 8_000, role: 'coaching', words, where, resumeHere: true }];
  });
}
