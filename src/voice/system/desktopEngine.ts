import type { ChildProcess } from 'node:child_process';
import { release } from 'node:os';
import { workError } from '../../errors/stillcountError.js';
import { endTree } from '../../programs/processGroup.js';
import { checkSpeech, noSpeech } from '../checkSpeech.js';
import { findProgram } from '../programs/findProgram.js';
import { withWaveFile } from '../programs/waveFile.js';
import { readWave } from '../readWave.js';
import { speakableText } from '../speakableText.js';
import type { RawSpeech, SpeechRequest, VoiceEngine } from '../voice.js';

export type DesktopPlatform = 'darwin' | 'win32';

/** The part of the `say` package in use: one object per platform, with the program that it started last. */
type Exporter = {
  child: ChildProcess | null;
  export(text: string, voice: string | null, speed: number, path: string, done: () => void): void;
};

/** The speech command of each platform, and its rate at speed 1; `say` takes the speed as a ratio. */
const platforms = {
  // 175 words per minute is the package's own base speed.
  darwin: { program: 'say', wordsPerMinuteAtSpeedOne: 175 },
  // About 180 at rate 0; common practice, no published source.
  win32: { program: 'powershell', wordsPerMinuteAtSpeedOne: 180 },
} as const;

/** On Windows the path is inserted into a command line, so it must not contain anything that could end a quotation. */
const safeWindowsPath = /^[\p{L}\p{N} _.:\\/~()+-]+$/u;

/** The system voice of macOS and Windows through the `say` package, one phrase at a time. */
export class DesktopSystemEngine implements VoiceEngine {
  readonly id: string;
  readonly fingerprint: string;
  readonly parallel = 1;
  #last: Promise<unknown> = Promise.resolve();

  /**
   * @param voice a validated voice name, or null for the system's default
   */
  constructor(
    readonly voice: string | null,
    readonly timeoutMs: number,
    readonly platform: DesktopPlatform,
  ) {
    this.id = voice === null ? 'system' : `system:${voice}`;
    this.fingerprint = `say ${platform} ${release()} ${voice ?? 'default'}`;
  }

  /** Speaks one request. The package tracks only one program at a time, so a request waits for the one before it. */
  synthesise(request: SpeechRequest): Promise<RawSpeech> {
    const mine = this.#last.then(() => this.#speak(request));
    this.#last = mine.catch(() => undefined);
    return mine;
  }

  async close(): Promise<void> {
    await this.#last;
  }

  async #speak(request: SpeechRequest): Promise<RawSpeech> {
    const { program, wordsPerMinuteAtSpeedOne } = platforms[this.platform];
    const from = 'The system voice';
    const text = speakableText(request.text);
    if (text === '') throw noSpeech(from, request.text, 'nothing that can be spoken');
    if (findProgram(program) === null) {
      throw workError({ message: `${from} needs the program ${program}, which was not found.` });
    }
    const speed = request.wordsPerMinute / wordsPerMinuteAtSpeedOne;
    const wave = await withWaveFile(async (path) => {
      if (this.platform === 'win32' && !safeWindowsPath.test(path)) {
        throw workError({
          message: `${from} cannot write to this folder for temporary files.`,
          found: path,
          allowed: 'letters, digits, spaces, and _ . : \\ / ~ ( ) + -',
        });
      }
      await this.#export(await exporterFor(this.platform), text, speed, path);
    });
    return checkSpeech(readWave(wave, from), from, request.text);
  }

  /** Waits until the program ends. The package's own result says little about success, so the file decides. */
  #export(exporter: Exporter, text: string, speed: number, path: string): Promise<void> {
    return new Promise((resolve, reject) => {
      exporter.export(text, this.voice, speed, path, () => undefined);
      const child = exporter.child;
      if (child === null) {
        reject(workError({ message: 'The system voice could not be started.' }));
        return;
      }
      const timer = setTimeout(() => {
        // The package starts the program without a process group; on Windows, ending the tree also ends what it has
        // started.
        if (this.platform === 'win32' && child.pid !== undefined) endTree(child.pid);
        else child.kill('SIGKILL');
        reject(workError({ message: `The system voice took longer than ${this.timeoutMs / 1000} s.` }));
      }, this.timeoutMs);
      child.stdin?.on('error', () => undefined);
      child.once('error', (error) => {
        clearTimeout(timer);
        reject(workError({ message: `The system voice could not be started (${error.message}).` }, error));
      });
      child.once('close', () => {
        clearTimeout(timer);
        resolve();
      });
      if (this.platform === 'darwin') child.stdin?.end();
    });
  }
}

/** Loads the package only when needed, because it throws on platforms that it does not know. */
async function exporterFor(platform: DesktopPlatform): Promise<Exporter> {
  const loaded: unknown = (await import('say')).default;
  if (typeof loaded === 'object' && loaded !== null && 'Say' in loaded && typeof loaded.Say === 'function') {
    const exporter: unknown = Reflect.construct(loaded.Say, [platform]);
    if (isExporter(exporter)) return exporter;
  }
  throw workError({ message: 'The package for system voices is not the one expected.' });
}

function isExporter(value: unknown): value is Exporter {
  return typeof value === 'object' && value !== null && 'child' in value && 'export' in value;
}
