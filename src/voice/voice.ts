/**
 * The interface of every voice engine. Each engine has its own folder or file, and all pass the same contract tests.
 */

export type SpeechRequest = {
  /** Plain text with pronunciations already applied. Never empty, no control characters. */
  text: string;
  wordsPerMinute: number;
};

/** Raw mono speech from the engine: not trimmed, not leveled, at any sample rate. */
export type RawSpeech = {
  sampleRateHz: number;
  /** Samples from -1 to 1. */
  samples: Float32Array;
};

export interface VoiceEngine {
  /** As written in a program file, for example `embedded:slt`. */
  readonly id: string;
  /** Changes whenever the same request could sound different: engine, version, settings. */
  readonly fingerprint: string;
  /** How many requests the engine can usefully process at once. */
  readonly parallel: number;
  /**
   * Speaks one request.
   *
   * @throws StillcountError kind `work` when the engine is missing, fails, or produces no speech
   */
  synthesise(request: SpeechRequest): Promise<RawSpeech>;
  /** Stops everything the engine keeps running. Safe to call twice. */
  close(): Promise<void>;
}
