import type { SpokenCue } from './compare.js';
import { listeningRateHz, type Utterance } from './utterances.js';

/** Sounds and cues of a recording that lie over each other, and over nothing else. */
type Part = { endMs: number; utterances: Utterance[]; cues: SpokenCue[] };

/**
 * The parts of a recording that must be listened to so that each wording is heard once: those with a wording that was not
 * heard before, those with a sound that no cue accounts for, and cues at which nothing sounds.
 *
 * @param known wordings that were heard before; those that will be heard now are added
 */
export function choosePart(
  utterances: readonly Utterance[],
  cues: readonly SpokenCue[],
  known: Set<string>,
): { utterances: Utterance[]; cues: SpokenCue[] } {
  const chosen = partsOf(utterances, cues).filter((part) => {
    const isWanted =
      part.cues.length === 0 ||
      part.utterances.length === 0 ||
      part.cues.some(({ text }) => !known.has(text));
    if (isWanted) for (const { text } of part.cues) known.add(text);
    return isWanted;
  });
  return {
    utterances: chosen.flatMap((part) => part.utterances),
    cues: chosen.flatMap((part) => part.cues),
  };
}

function partsOf(utterances: readonly Utterance[], cues: readonly SpokenCue[]): Part[] {
  const toMs = (samples: number) => (samples / listeningRateHz) * 1000;
  const sounds = utterances.map((utterance) => ({
    startMs: toMs(utterance.startSample),
    endMs: toMs(utterance.startSample + utterance.samples.length),
    utterances: [utterance],
    cues: [] as SpokenCue[],
  }));
  const words = cues.map((cue) => ({ ...cue, utterances: [] as Utterance[], cues: [cue] }));
  const parts: Part[] = [];
  for (const span of [...sounds, ...words].sort((a, b) => a.startMs - b.startMs)) {
    const last = parts.at(-1);
    if (last !== undefined && span.startMs < last.endMs) {
      last.endMs = Math.max(last.endMs, span.endMs);
      last.utterances.push(...span.utterances);
      last.cues.push(...span.cues);
    } else parts.push({ endMs: span.endMs, utterances: span.utterances, cues: span.cues });
  }
  return parts;
}
