import { dosesHeard } from '../script/doseHeard.js';
import type { Cue, TimedScript } from '../script/timedScript.js';
import { escapeMarkup } from './markup.js';

/** The names of the strip's lanes and its text alternative, from the caller's templates. */
export type StripWords = {
  title: string;
  description: string;
  lanes: Readonly<Record<Lane, string>>;
};

export const lanes = ['words', 'counts', 'breath', 'rests', 'presence'] as const;
type Lane = (typeof lanes)[number];

const pixelsPerSecond = 5;
const labelWidth = 76;
const headHeight = 30;
const laneHeight = 22;
const barHeight = 14;
const axisHeight = 20;

type Bar = { lane: Lane; startMs: number; endMs: number; kind: string; title: string };

/**
 * Draws a session to scale, at five pixels per second: one lane each for words, counts, breath phases, rests and
 * presence sounds, a line where each exercise begins, and a mark where something was adjusted. Returns SVG for a page:
 * its colors come from the page's style sheet through classes, and `data-px-per-second` and `data-left` map a time to a
 * position.
 */
export function stripSvg(script: TimedScript, words: StripWords): string {
  const width = labelWidth + x(script.durationMs) + 8;
  const height = headHeight + lanes.length * laneHeight + axisHeight;
  const bars = [...script.cues.flatMap(barsOf), ...restsOf(script)];
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" class="strip" role="img" aria-labelledby="strip-title strip-description"`,
    ` width="${round(width)}" height="${height}" viewBox="0 0 ${round(width)} ${height}"`,
    ` data-px-per-second="${pixelsPerSecond}" data-left="${labelWidth}" data-duration-ms="${script.durationMs}">`,
    `<title id="strip-title">${escapeMarkup(words.title)}</title>`,
    `<desc id="strip-description">${escapeMarkup(words.description)}</desc>`,
    ...lanes.map((lane, index) => laneMarkup(words.lanes[lane], index, width)),
    ...script.chapters.map((chapter) => chapterMarkup(chapter, script, height)),
    ...minutesMarkup(script.durationMs, height),
    ...bars.map(barMarkup),
    '</svg>',
  ].join('');
}

function barsOf(cue: Cue): Bar[] {
  const span = { startMs: cue.startMs, endMs: cue.endMs };
  if (cue.kind === 'presence') return [{ ...span, lane: 'presence', kind: 'presence', title: '' }];
  const title = cue.text ?? cue.shown;
  const spoken: Bar[] =
    title === undefined
      ? []
      : [{ ...span, lane: cue.kind === 'count' ? 'counts' : 'words', kind: cue.role, title }];
  const phase: Bar[] =
    cue.phase === undefined ? [] : [{ ...cue.phase, lane: 'breath', kind: `phase-${cue.role}`, title: '' }];
  return [...spoken, ...phase];
}

/** Returns the rests between pieces of work of one exercise. */
function restsOf(script: TimedScript): Bar[] {
  return dosesHeard(script).flatMap(({ work }) =>
    work.slice(1).flatMap((next, index): Bar[] => {
      const before = work[index];
      if (before === undefined || before.kind === 'breath' || next.startMs <= before.endMs) return [];
      return [{ lane: 'rests', kind: 'between', startMs: before.endMs, endMs: next.startMs, title: '' }];
    }),
  );
}

function laneMarkup(name: string, index: number, width: number): string {
  const top = headHeight + index * laneHeight;
  return (
    `<line class="lane-line" x1="0" x2="${round(width)}" y1="${top + laneHeight}" y2="${top + laneHeight}"/>` +
    `<text class="lane-name" x="0" y="${top + laneHeight - 7}">${escapeMarkup(name)}</text>`
  );
}

function chapterMarkup(
  chapter: TimedScript['chapters'][number],
  script: TimedScript,
  height: number,
): string {
  const left = round(labelWidth + x(chapter.startMs));
  const notes = script.adjustments.filter(
    ({ exercise }) => exercise !== undefined && exercise === chapter.exercise,
  );
  const adjusted =
    notes.length === 0
      ? ''
      : `<g class="adjusted"><title>${escapeMarkup(notes.map(({ text }) => text).join(' '))}</title>` +
        `<circle cx="${left + 5}" cy="${headHeight - 4}" r="4"/></g>`;
  // A name longer than its chapter would run into the next name.
  const room = Math.floor((x(chapter.endMs) - x(chapter.startMs)) / 7);
  const name =
    chapter.title.length <= room ? chapter.title : `${chapter.title.slice(0, Math.max(0, room - 1))}…`;
  return (
    `<line class="chapter-line" x1="${left}" x2="${left}" y1="4" y2="${height - axisHeight}"/>` +
    `<text class="chapter-name" x="${left + 4}" y="16">${room < 3 ? '' : escapeMarkup(name)}` +
    `<title>${escapeMarkup(chapter.title)}</title></text>${adjusted}`
  );
}

function minutesMarkup(durationMs: number, height: number): string[] {
  const minutes = Array.from({ length: Math.floor(durationMs / 60_000) + 1 }, (_, minute) => minute);
  return minutes.map(
    (minute) =>
      `<text class="minute" x="${labelWidth + x(minute * 60_000)}" y="${height - 5}">${minute}:00</text>`,
  );
}

function barMarkup(bar: Bar): string {
  const top = headHeight + lanes.indexOf(bar.lane) * laneHeight + (laneHeight - barHeight) / 2;
  const width = Math.max(1, x(bar.endMs - bar.startMs));
  const title = bar.title === '' ? '' : `<title>${escapeMarkup(bar.title)}</title>`;
  return (
    `<rect class="bar lane-${bar.lane} is-${bar.kind}" x="${round(labelWidth + x(bar.startMs))}" y="${top}"` +
    ` width="${round(width)}" height="${barHeight}" rx="2">${title}</rect>`
  );
}

function x(ms: number): number {
  return (ms * pixelsPerSecond) / 1000;
}

function round(value: number): number {
  return Math.round(value * 10) / 10;
}
