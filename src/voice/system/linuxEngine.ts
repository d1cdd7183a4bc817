import { availableParallelism } from 'node:os';
import { workError } from '../../errors/stillcountError.js';
import { checkSpeech, noSpeech } from '../checkSpeech.js';
import { findProgram } from '../programs/findProgram.js';
import { fileIdentity } from '../programs/identity.js';
import { runProgram } from '../programs/runProgram.js';
import { withWaveFile } from '../programs/waveFile.js';
import { readWave } from '../readWave.js';
import { speakableText } from '../speakableText.js';
import type { RawSpeech, SpeechRequest, VoiceEngine } from '../voice.js';
import { type LinuxProgram, linuxPrograms } from './linuxPrograms.js';

/** Returns the first text-to-speech command that is installed, with its path, or null. */
function installedLinuxProgram(): { program: LinuxProgram; path: string } | null {
  for (const program of linuxPrograms) {
    const path = findProgram(program.name);
    if (path !== null) return { program, path };
  }
  return null;
}

/** The system voice of Linux: its text-to-speech command. */
export class LinuxSystemEngine implements VoiceEngine {
  readonly id: string;
  readonly fingerprint: string;
  readonly parallel = availableParallelism();
  readonly #program: LinuxProgram;
  readonly #path: string;

  /**
   * @param voice a validated voice name, or null for the program's default
   * @throws StillcountError kind `work` when no such command is installed
   */
  constructor(
    readonly voice: string | null,
    readonly timeoutMs: number,
  ) {
    const installed = installedLinuxProgram();
    if (installed === null) {
      throw workError({
        message: 'This system has no text-to-speech command.',
        allowed: linuxPrograms.map(({ name }) => name).join(', '),
        hint: 'Install one of them, or use a voice that needs nothing installed, such as embedded:slt.',
      });
    }
    this.#program = installed.program;
    this.#path = installed.path;
    this.id = voice === null ? 'system' : `system:${voice}`;
    // The fingerprint includes how the rate is set, because clips from another calibration are not at the rate they are
    // stored under.
    const commandLine = installed.program.args({ voice, wordsPerMinute: 100, out: 'out' }).join(' ');
    this.fingerprint = `system ${fileIdentity(installed.path)} ${commandLine}`;
  }

  async synthesise(request: SpeechRequest): Promise<RawSpeech> {
    const from = `The voice program ${this.#program.name}`;
    const text = speakableText(request.text);
    if (text === '') throw noSpeech(from, request.text, 'nothing that can be spoken');
    const wave = await withWaveFile((out) =>
      runProgram({
        name: this.#program.name,
        path: this.#path,
        args: this.#program.args({ voice: this.voice, wordsPerMinute: request.wordsPerMinute, out }),
        stdin: `${text}\n`,
        timeoutMs: this.timeoutMs,
      }),
    );
    return checkSpeech(readWave(wave, from), from, request.text);
  }

  async close(): Promise<void> {}
}
