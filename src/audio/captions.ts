import type { TimedScript } from '../script/timedScript.js';

/** A spoken number is too short to read, so its caption stays this long, or until the next words. */
const shortestShownMs = 1000;

/**
 * Returns the session's captions as WebVTT (W3C WebVTT, section 4): every spoken wording at its time, and every count
 * that is replaced by a tone. Cue ids start at 1.
 */
export function captionsOf(script: TimedScript): string {
  const spoken = script.cues
    .flatMap((cue) => {
      const text = cue.text ?? cue.shown;
      return text === undefined ? [] : [{ ...cue, text }];
    })
    .sort((a, b) => a.startMs - b.startMs);
  const blocks = spoken.map((cue, index) => {
    const nextStartMs = spoken[index + 1]?.startMs ?? script.durationMs;
    const endMs = Math.max(cue.endMs, Math.min(cue.startMs + shortestShownMs, nextStartMs));
    return `${index + 1}\n${vttTime(cue.startMs)} --> ${vttTime(endMs)}\n${escaped(cue.text)}\n`;
  });
  return ['WEBVTT\n', ...blocks].join('\n');
}

/** Formats a time as `hh:mm:ss.ttt`. */
function vttTime(ms: number): string {
  const two = (value: number) => String(Math.floor(value)).padStart(2, '0');
  const fraction = String(ms % 1000).padStart(3, '0');
  return `${two(ms / 3_600_000)}:${two((ms / 60_000) % 60)}:${two((ms / 1000) % 60)}.${fraction}`;
}

/** Escapes `&` and `<`, as WebVTT requires, and `>`, because an arrow would end the text. */
function escaped(text: string): string {
  return text
    .replace(/\s+/g, ' ')
    .trim()
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;');
}
