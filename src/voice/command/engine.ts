import { inputError, workError } from '../../errors/stillcountError.js';
import { checkSpeech, noSpeech } from '../checkSpeech.js';
import { findProgram } from '../programs/findProgram.js';
import { fileIdentity } from '../programs/identity.js';
import { runProgram } from '../programs/runProgram.js';
import { withWaveFile } from '../programs/waveFile.js';
import { readWave } from '../readWave.js';
import { speakableText } from '../speakableText.js';
import type { RawSpeech, SpeechRequest, VoiceEngine } from '../voice.js';

/**
 * A voice that is any program that writes a WAV file, given as an argument list; no shell is involved. The placeholders
 * `{text}`, `{out}` and `{wordsPerMinute}` are filled in. Without `{text}` the text goes to the program's standard
 * input; without `{out}` the WAV file is read from its standard output.
 */
export class CommandEngine implements VoiceEngine {
  readonly id = 'command';
  readonly fingerprint: string;
  readonly parallel: number;
  readonly #program: string;
  readonly #path: string;
  readonly #args: readonly string[];
  readonly #timeoutMs: number;

  /**
   * @throws StillcountError kind `input` when the list is empty, kind `work` when there is no such program
   */
  constructor(command: readonly string[], options: { timeoutMs: number; parallel: number }) {
    const [program, ...args] = command;
    if (program === undefined) {
      throw inputError({ message: 'The voice command is empty.', allowed: 'a program and its arguments' });
    }
    const path = findProgram(program);
    if (path === null) {
      throw workError({
        message: `The voice program ${program} was not found.`,
        hint: 'Give its full path in STILLCOUNT_VOICE_COMMAND, or choose another voice.',
      });
    }
    this.#program = program;
    this.#path = path;
    this.#args = args;
    this.#timeoutMs = options.timeoutMs;
    this.parallel = options.parallel;
    this.fingerprint = JSON.stringify(['command', ...[path, ...args].map(fileIdentity)]);
  }

  async synthesise(request: SpeechRequest): Promise<RawSpeech> {
    const from = `The voice program ${this.#program}`;
    const text = speakableText(request.text);
    if (text === '') throw noSpeech(from, request.text, 'nothing that can be spoken');
    const run = (out: string) =>
      runProgram({
        name: this.#program,
        path: this.#path,
        args: this.#args.map((arg) => filled(arg, text, out, request.wordsPerMinute)),
        stdin: this.#args.some((arg) => arg.includes('{text}')) ? '' : `${text}\n`,
        timeoutMs: this.#timeoutMs,
      });
    const writesFile = this.#args.some((arg) => arg.includes('{out}'));
    const wave = writesFile ? await withWaveFile(run) : await run('');
    return checkSpeech(readWave(wave, from), from, request.text);
  }

  async close(): Promise<void> {}
}

/** Fills placeholders in one pass, so that a text that contains a placeholder stays as it is. */
function filled(arg: string, text: string, out: string, wordsPerMinute: number): string {
  return arg.replace(/\{(text|out|wordsPerMinute)\}/g, (_, name) => {
    if (name === 'text') return text;
    return name === 'out' ? out : String(Math.round(wordsPerMinute));
  });
}
