import type { Cue, TimedScript } from '../script/timedScript.js';

/**
 * Returns the session as text to read: title and length, then each chapter with its spoken words, each line with its
 * time from the start in minutes and seconds. The counts of one repetition share a line, including those replaced by
 * tones.
 */
export function transcriptOf(script: TimedScript): string {
  const chapters = script.chapters.map((chapter, index) => {
    const cues = script.cues.filter((cue) => cue.chapter === index);
    return [`${clock(chapter.startMs)}  ${chapter.title}`, ...linesOf(cues)].join('\n');
  });
  return `${[`${script.title}\n${clock(script.durationMs)}`, ...chapters].join('\n\n')}\n`;
}

function linesOf(cues: readonly Cue[]): string[] {
  const lines: { startMs: number; texts: string[]; last: Cue }[] = [];
  for (const cue of cues) {
    const text = cue.text ?? cue.shown;
    if (text === undefined) continue;
    const line = lines[lines.length - 1];
    if (line !== undefined && sameCounting(line.last, cue)) {
      line.texts.push(text);
      line.last = cue;
    } else {
      lines.push({ startMs: cue.startMs, texts: [text], last: cue });
    }
  }
  return lines.map((line) => `  ${clock(line.startMs)}  ${line.texts.join(', ')}`);
}

function sameCounting(a: Cue, b: Cue): boolean {
  return (
    a.kind === 'count' &&
    b.kind === 'count' &&
    a.role === b.role &&
    a.set === b.set &&
    a.rep === b.rep &&
    a.side === b.side
  );
}

/** Formats a time as minutes and seconds, for example `12:05`. */
function clock(ms: number): string {
  const seconds = Math.floor(ms / 1000);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}`;
}
