import type { Say, Train, Words } from '../layout.js';
import { beatGridMs, frameMs, longestExplainedMs, minGapMs, noticeableRestMs } from '../rules.js';
import { placeBeats } from './placeBeats.js';
import { placeFillers } from './placeFillers.js';
import { placeSay, sayLengthMs } from './placeSay.js';
import {
  beatOffsetMs,
  ceilTo,
  type Form,
  floorTo,
  longest,
  placeOf,
  shortest,
  type Timeline,
} from './timeline.js';

/**
 * Places a train on the timeline, with its first beat as early as the prescribed rest and the words before it allow.
 * Rule S5: a rest is never shorter than prescribed. It grows when even the shortest words need more time; nothing
 * inside the train moves.
 *
 * @throws StillcountError kind `input` when required words do not fit
 */
export function placeTrain(timeline: Timeline, train: Train): void {
  const restEndMs =
    timeline.workEndMs === null || train.restBeforeMs === 0 ? 0 : timeline.workEndMs + train.restBeforeMs;
  const [firstBeat] = train.beats;
  const firstOffsetMs =
    firstBeat.words === null ? 0 : beatOffsetMs(timeline, firstBeat, shortest(firstBeat.words));
  const changesMs = lengthMs(timeline, train.changes, longest);
  const earliestFirstBeatMs = (forms: Forms) =>
    timeline.cursorMs +
    changesMs +
    lengthMs(timeline, train.position, forms.position) +
    leadLengthMs(timeline, textsOf(train, forms)) +
    minGapMs +
    firstOffsetMs;

  const limitMs = commandLimitMs(timeline, restEndMs);
  const [fullest, ...shorter] = formsByPreference;
  if (earliestFirstBeatMs(fullest) > limitMs) dropTimeToSettle(timeline);
  const forms =
    formsByPreference.find((each) => earliestFirstBeatMs(each) <= limitMs) ?? shorter.at(-1) ?? fullest;
  const texts = textsOf(train, forms);
  const firstBeatMs = ceilTo(beatGridMs, Math.max(restEndMs, earliestFirstBeatMs(forms)));
  noteGrownRest(timeline, train, firstBeatMs);

  const leadStartsMs = leadStarts(timeline, texts, firstBeatMs - firstOffsetMs - minGapMs);
  const leadStartMs = leadStartsMs[0] ?? firstBeatMs - firstOffsetMs - minGapMs;
  const positionStartMs = leadStartMs - lengthMs(timeline, train.position, forms.position);
  if (train.restWords !== null) {
    placeRestWords(timeline, train, train.restWords, positionStartMs - changesMs - minGapMs);
  }
  for (const change of train.changes) placeSay(timeline, change);
  if (train.position.length > 0) {
    timeline.cursorMs = Math.max(timeline.cursorMs, floorTo(frameMs, positionStartMs));
  }
  for (const line of train.position) placeSay(timeline, line, forms.position);
  timeline.explained = null;

  train.lead.forEach(({ role }, index) => {
    const text = texts[index];
    const startMs = leadStartsMs[index];
    if (text === undefined || startMs === undefined) return;
    const endMs = startMs + timeline.measure(text).durationMs;
    const resumeHere = train.resumeHere && index === 0;
    timeline.cues.push({
      ...placeOf(timeline, train.where),
      kind: 'speech',
      role,
      text,
      startMs,
      endMs,
      beatMs: null,
      resumeHere,
    });
    timeline.cursorMs = endMs;
  });

  const ownCuesFrom = timeline.cues.length;
  placeBeats(timeline, train, firstBeatMs);
  placeFillers(timeline, train, firstBeatMs, ownCuesFrom);
  timeline.workEndMs = firstBeatMs + train.lengthMs;
  const lastSoundMs = Math.max(...timeline.cues.slice(ownCuesFrom).map(({ endMs }) => endMs));
  timeline.cursorMs = Math.max(timeline.cursorMs, timeline.workEndMs, lastSoundMs);
}

/** Which wordings are used before the first beat. */
type Forms = { lead: Form; position: Form };

/**
 * The combinations to try where room is short: shorten the lead first, then the words that take up the starting
 * position.
 */
const formsByPreference: readonly [Forms, ...Forms[]] = [
  { lead: longest, position: longest },
  { lead: shortest, position: longest },
  { lead: shortest, position: shortest },
];

function textsOf({ lead }: Train, forms: Forms): string[] {
  return lead.map(({ words }) => forms.lead(words));
}

function lengthMs(timeline: Timeline, says: readonly Say[], form: Form): number {
  return says.reduce((sum, say) => sum + sayLengthMs(timeline, say, form), 0);
}

/**
 * Returns the latest time for the first beat: the end of the prescribed rest, or the moment before an explanation is
 * forgotten. With neither there is no limit, so every line is spoken in full.
 */
function commandLimitMs({ explained }: Timeline, restEndMs: number): number {
  if (restEndMs > 0) return restEndMs;
  return explained === null ? Number.POSITIVE_INFINITY : explained.endMs + longestExplainedMs - beatGridMs;
}

/** Removes the time to settle after an explanation, which is the first thing to give up where room is short. */
function dropTimeToSettle(timeline: Timeline): void {
  timeline.cursorMs -= timeline.explained?.spareMs ?? 0;
}

/** Returns the length of a lead: gaps and words, plus what rounding each start to a whole frame can add. */
function leadLengthMs(timeline: Timeline, texts: readonly string[]): number {
  return texts.reduce((sum, text) => sum + minGapMs + frameMs + timeline.measure(text).durationMs, 0);
}

/**
 * Returns the start of each lead cue. They are placed from last to first, so that they end just before the first beat.
 */
function leadStarts(timeline: Timeline, texts: readonly string[], endMs: number): number[] {
  let limitMs = endMs;
  return texts
    .toReversed()
    .map((text) => {
      const startMs = floorTo(frameMs, limitMs - timeline.measure(text).durationMs);
      limitMs = startMs - minGapMs;
      return startMs;
    })
    .toReversed();
}

function placeRestWords(
  timeline: Timeline,
  train: Train,
  restWords: { role: 'coaching' | 'rest'; words: Words },
  limitMs: number,
): void {
  const startMs = ceilTo(frameMs, timeline.cursorMs + minGapMs);
  const text = restWords.words.find((words) => startMs + timeline.measure(words).durationMs <= limitMs);
  if (text === undefined) return;
  const endMs = startMs + timeline.measure(text).durationMs;
  const place = placeOf(timeline, train.where);
  timeline.cues.push({
    ...place,
    kind: 'speech',
    role: restWords.role,
    text,
    startMs,
    endMs,
    beatMs: null,
    resumeHere: false,
  });
  timeline.cursorMs = endMs;
}

function noteGrownRest(timeline: Timeline, train: Train, firstBeatMs: number): void {
  if (timeline.workEndMs === null || train.restBeforeMs === 0) return;
  const restMs = firstBeatMs - timeline.workEndMs;
  if (restMs - train.restBeforeMs < noticeableRestMs) return;
  const change = train.changes.findLast(({ ownTime }) => ownTime !== null)?.ownTime?.kind;
  timeline.notes.push({
    kind: change === undefined ? 'rest-grew' : 'rest-grew-for-change',
    ...(train.where.exercise === undefined ? {} : { exercise: train.where.exercise }),
    values: {
      fromMs: train.restBeforeMs,
      toMs: restMs,
      ...(change === undefined ? {} : { change }),
    },
  });
}
