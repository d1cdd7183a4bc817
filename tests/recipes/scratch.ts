import { spawn } from 'node:child_process';
import { cp, mkdir, mkdtemp, readdir, readFile, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { finished, type Run } from '../cli/runStillcount.js';
import { changed, type Step } from './steps.js';

/** What of the project a recipe may change or run. */
const copied = [
  'audio-templates',
  // Compiled before the tests, and compiled anew once recipes have changed the sources.
  'dist',
  'scripts',
  'src',
  'tests',
  'biome.json',
  'CHANGELOG.md',
  'DEVELOPERS.md',
  'LICENSE',
  'package.json',
  'README.md',
  'tsconfig.json',
  'vitest.config.ts',
];

/** A copy of the project in which recipes are followed. */
export class Scratch {
  readonly folder: string;
  readonly #environment: NodeJS.ProcessEnv;

  private constructor(folder: string, environment: NodeJS.ProcessEnv) {
    this.folder = folder;
    this.#environment = environment;
  }

  static async open(environment: NodeJS.ProcessEnv): Promise<Scratch> {
    const folder = await mkdtemp(join(tmpdir(), 'stillcount-recipes-'));
    for (const name of copied) await cp(name, join(folder, name), { recursive: true });
    // Each package by itself: what tools keep beside the packages is the copy's own.
    await mkdir(join(folder, 'node_modules'));
    for (const name of await readdir('node_modules'))
      if (name === '.bin' || !name.startsWith('.'))
        await symlink(resolve('node_modules', name), join(folder, 'node_modules', name), 'junction');
    await mkdir(join(folder, 'output'));
    return new Scratch(folder, environment);
  }

  remove(): Promise<void> {
    return rm(this.folder, { recursive: true, force: true });
  }

  /** Creates or changes one file. */
  async apply(step: Exclude<Step, { kind: 'run' }>): Promise<void> {
    const path = join(this.folder, step.file);
    if (step.kind === 'create') {
      await mkdir(dirname(path), { recursive: true });
      return writeFile(path, step.text, { flag: 'wx' });
    }
    try {
      await writeFile(path, changed(await readFile(path, 'utf8'), step.diff));
    } catch (error) {
      throw new Error(`${step.file} cannot be changed`, { cause: error });
    }
  }

  /** Compiles the copy into its own `dist`. */
  async compile(): Promise<void> {
    const { code, stderr } = await this.#start(process.execPath, [
      ...['--import', 'tsx', '--input-type=module', '--eval'],
      "const { compile } = await import('./scripts/build/compile.ts'); await compile();",
    ]);
    if (code !== 0) throw new Error(`the copy does not compile: ${stderr}`);
  }

  /**
   * Runs a command as it is written. What npm would start from the source is started compiled, which prints the same in
   * a fifth of the time.
   */
  run(command: string): Promise<Run> {
    const words = /^npm run -s stillcount -- (.*)$/.exec(command)?.[1]?.split(' ');
    if (words !== undefined) return this.#start(process.execPath, [join('dist', 'cli', 'main.js'), ...words]);
    return this.#start('sh', ['-c', command]);
  }

  /** Whether a command that waits for a debugger says so; it is ended then. */
  async waitsForDebugger(command: string): Promise<boolean> {
    // Any free port: another one may be debugging.
    const words = command.replace('--inspect-brk', '--inspect-brk=127.0.0.1:0').split(' ').slice(1);
    const child = spawn(process.execPath, words, { cwd: this.folder, stdio: ['ignore', 'ignore', 'pipe'] });
    const ended = new Promise<string>((found) => {
      let said = '';
      child.stderr.on('data', (chunk: Buffer) => {
        said += chunk.toString();
        if (said.includes('\n')) child.kill('SIGKILL');
      });
      child.once('close', () => found(said));
    });
    return (await ended).startsWith('Debugger listening on ws://127.0.0.1:');
  }

  #start(program: string, words: readonly string[]): Promise<Run> {
    const env = { ...process.env, ...this.#environment };
    return finished(spawn(program, words, { cwd: this.folder, env }));
  }
}
