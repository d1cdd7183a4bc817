/** What the voice room asks of every engine. One engine, one folder or file; all pass the same contract tests. */

export type SpeechRequest = {
  /** Plain text, pronunciations already applied. Never empty, no control characters. */
  text: string;
  wordsPerMinute: number;
};

/** Raw mono speech as the engine made it: not trimmed, not levelled, any sample rate. */
export type RawSpeech = {
  sampleRateHz: number;
  /** -1 to 1. */
  samples: Float32Array;
};

export interface VoiceEngine {
  /** As written in a program file, for example `embedded:slt`. */
  readonly id: string;
  /** Changes whenever the same request could sound different: engine, version, settings. */
  readonly fingerprint: string;
  /** How many requests the engine can usefully work on at once. */
  readonly parallel: number;
  /** @throws StillcountError kind `work` when the engine is missing, fails, or gives no speech. */
  synthesise(request: SpeechRequest): Promise<RawSpeech>;
  /** Ends whatever the engine keeps running. Safe to call twice. */
  close(): Promise<void>;
}
