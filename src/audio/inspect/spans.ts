import type { TimedScript } from '../../script/timedScript.js';

/** A span of time in milliseconds, start inclusive, end exclusive. */
export type Span = { startMs: number; endMs: number };

/** Returns the spans in which words are spoken, in order. */
export function spokenSpans(script: TimedScript): Span[] {
  return inOrder(script.cues.filter((cue) => cue.text !== undefined));
}

/** Returns the spans in which anything sounds (words, tones, presence sounds), in order. */
export function soundingSpans(script: TimedScript): Span[] {
  return inOrder(
    script.cues.flatMap((cue): Span[] => [
      ...(cue.text !== undefined || cue.kind === 'presence' ? [cue] : []),
      ...(cue.tone === undefined ? [] : [cue.tone]),
    ]),
  );
}

/** Returns the parts of a span that remain when the others, ordered by start, are cut out of it. */
export function without(span: Span, others: readonly Span[]): Span[] {
  const left: Span[] = [];
  let atMs = span.startMs;
  for (const other of others) {
    if (other.endMs <= atMs) continue;
    if (other.startMs >= span.endMs) break;
    if (other.startMs > atMs) left.push({ startMs: atMs, endMs: other.startMs });
    atMs = other.endMs;
  }
  if (atMs < span.endMs) left.push({ startMs: atMs, endMs: span.endMs });
  return left;
}

function inOrder(spans: readonly Span[]): Span[] {
  return spans.map(({ startMs, endMs }) => ({ startMs, endMs })).sort((a, b) => a.startMs - b.startMs);
}
