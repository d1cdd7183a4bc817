import { createHash } from 'node:crypto';
import { workError } from '../errors/stillcountError.js';
import type { BlobCache } from '../files/blobCache.js';
import { sampleRateHz, samplesPerMs } from '../signal/sampleRate.js';
import { runConcurrently } from '../time/runConcurrently.js';
import { encodeClip, readClipHead, readClipSamples } from './clipEntry.js';
import { preparationVersion, prepareClip } from './prepareClip.js';
import { applyNames, applyPronunciations } from './pronunciations.js';
import { speakableText } from './speakableText.js';
import type { VoiceEngine } from './voice.js';

/** A spoken wording, ready to be placed: 24 kHz mono, whole milliseconds, beat on a whole millisecond. */
export type SpeechClip = {
  /** The text as requested. */
  text: string;
  /** Identifies the samples: equal keys always mean the same samples. */
  key: string;
  durationMs: number;
  /** Time from the first sample to the perceptual center. */
  beatOffsetMs: number;
  lengthSamples: number;
  /** Reads the samples (-1 to 1) from the cache; speaks the clip again when they are no longer there. */
  samples(): Promise<Float32Array>;
};

export type ClipLibraryOptions = {
  /** The caller closes it, directly or with {@link ClipLibrary.close}. */
  engine: VoiceEngine;
  cache: BlobCache;
  wordsPerMinute: number;
  /** Words that the voice mispronounces, and how to spell them for it; see applyPronunciations. */
  pronunciations: Readonly<Record<string, string>>;
  /** Names that the voice mispronounces; replaced only where they are written with the same capitals. */
  names?: Readonly<Record<string, string>>;
  /**
   * Lengths and beats of stored clips, shared by libraries that use one cache, so that measuring again reads no file.
   */
  known?: KnownClips;
  /** Called after each distinct wording of a call with how many clips are ready, and of how many. */
  onProgress?: (done: number, total: number) => void;
};

export interface ClipLibrary {
  /**
   * Returns one clip for each text, from the cache or from the voice.
   *
   * @param wordsPerMinute speaking rate for these texts; defaults to the library's own
   * @throws StillcountError kind `work` when the voice fails; clips finished by then stay in the cache
   */
  clips(texts: readonly string[], wordsPerMinute?: number): Promise<ReadonlyMap<string, SpeechClip>>;
  /** Returns the clips of those texts that already have one, without using the voice. */
  kept(texts: readonly string[], wordsPerMinute?: number): Promise<ReadonlyMap<string, SpeechClip>>;
  /** Number of phrases the engine has been asked to speak. */
  readonly voiceCalls: number;
  /** Closes the engine. Safe to call twice. */
  close(): Promise<void>;
}

type Head = { beatOffsetMs: number; lengthSamples: number };

/** Lengths and beats of clips by key; grows to a few megabytes at most. */
export class KnownClips {
  readonly #heads = new Map<string, Head>();

  get(key: string): Head | undefined {
    return this.#heads.get(key);
  }

  set(key: string, head: Head): void {
    if (this.#heads.size >= mostKnownClips) this.#heads.clear();
    this.#heads.set(key, head);
  }
}

const mostKnownClips = 50_000;
type Wording = { spoken: string; wordsPerMinute: number; key: string };

/** Opens the clips of one voice at one speaking rate. */
export function openClipLibrary(options: ClipLibraryOptions): ClipLibrary {
  const { engine, cache, pronunciations, onProgress, known = new KnownClips() } = options;
  const beingMade = new Map<string, Promise<Head>>();
  let voiceCalls = 0;

  function wordingOf(text: string, wordsPerMinute: number): Wording {
    const spoken = speakableText(applyPronunciations(applyNames(text, options.names ?? {}), pronunciations));
    const parts = [engine.fingerprint, wordsPerMinute, spoken, sampleRateHz, preparationVersion];
    return {
      spoken,
      wordsPerMinute,
      key: `clip ${createHash('sha256').update(JSON.stringify(parts)).digest('hex')}`,
    };
  }

  async function synthesise({ spoken, wordsPerMinute, key }: Wording): Promise<Head> {
    voiceCalls += 1;
    const raw = await engine.synthesise({ text: spoken, wordsPerMinute });
    // A voice may speak the same words differently each time, so a clip that another process has stored meanwhile wins.
    const meanwhile = await cache.get(key);
    const entry = meanwhile ?? encodeClip(prepareClip(raw));
    if (meanwhile === null) await cache.put(key, entry);
    const head = readClipHead(entry);
    if (head === null) throw workError({ message: `The speech for “${spoken}” could not be prepared.` });
    known.set(key, head);
    return head;
  }

  async function keptHeadOf({ key }: Wording): Promise<Head | null> {
    const remembered = known.get(key);
    if (remembered !== undefined) return remembered;
    const cached = await cache.get(key);
    const head = cached === null ? null : readClipHead(cached);
    if (head !== null) known.set(key, head);
    return head;
  }

  /**
   * Returns a clip's head from the cache, or speaks the clip; concurrent callers for the same wording share the work.
   */
  async function headOf(wording: Wording): Promise<Head> {
    const head = await keptHeadOf(wording);
    if (head !== null) return head;
    const running = beingMade.get(wording.key);
    if (running !== undefined) return running;
    const made = synthesise(wording).finally(() => beingMade.delete(wording.key));
    beingMade.set(wording.key, made);
    return made;
  }

  async function samplesOf(wording: Wording): Promise<Float32Array> {
    const cached = await cache.get(wording.key);
    if (cached !== null && readClipHead(cached) !== null) return readClipSamples(cached);
    await synthesise(wording);
    const made = await cache.get(wording.key);
    if (made !== null) return readClipSamples(made);
    throw workError({ message: 'A spoken clip could not be saved.', file: cache.folder });
  }

  function clipOf(text: string, wording: Wording, head: Head): SpeechClip {
    const durationMs = head.lengthSamples / samplesPerMs;
    return { text, key: wording.key, durationMs, ...head, samples: () => samplesOf(wording) };
  }

  return {
    get voiceCalls() {
      return voiceCalls;
    },
    async clips(texts, wordsPerMinute = options.wordsPerMinute) {
      const wordings = new Map(texts.map((text) => [text, wordingOf(text, wordsPerMinute)]));
      const distinct = new Map([...wordings.values()].map((wording) => [wording.key, wording]));
      const heads = new Map<string, Head>();
      await runConcurrently([...distinct.values()], engine.parallel, async (wording) => {
        heads.set(wording.key, await headOf(wording));
        onProgress?.(heads.size, distinct.size);
      });
      const clips = new Map<string, SpeechClip>();
      for (const [text, wording] of wordings) {
        const head = heads.get(wording.key);
        if (head !== undefined) clips.set(text, clipOf(text, wording, head));
      }
      return clips;
    },
    async kept(texts, wordsPerMinute = options.wordsPerMinute) {
      const clips = new Map<string, SpeechClip>();
      for (const text of texts) {
        const wording = wordingOf(text, wordsPerMinute);
        const head = await keptHeadOf(wording);
        if (head !== null) clips.set(text, clipOf(text, wording, head));
      }
      return clips;
    },
    close: () => engine.close(),
  };
}
