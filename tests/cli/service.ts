import { type ChildProcess, spawn } from 'node:child_process';
import { resolve } from 'node:path';
import { createInterface } from 'node:readline';

/** A service as a clinic would start it, in a process of its own. */
export type RunningService = {
  child: ChildProcess;
  address: string;
  /** The one-time link of the first owner; null when there is a clinic. */
  link: string | null;
  /** What it has printed so far. */
  printed: string[];
  /** What it has logged so far, a line each. */
  logged: string[];
  /** How it ended. */
  gone: Promise<{ code: number | null; signal: NodeJS.Signals | null }>;
};

/** Starts the service on a data folder and waits until it answers. */
export async function startServe(
  folder: string,
  more: NodeJS.ProcessEnv = {},
  // Whatever lies in this project's own data folder, a test begins anew.
  options: readonly string[] = ['--new-data'],
  /** A program, with its arguments, that becomes the service, such as one that takes the network away. */
  through: readonly string[] = [],
  /** The folder of the project, compiled. */
  project = '.',
): Promise<RunningService> {
  const { DATABASE_URL: _none, ...environment } = process.env;
  const words = [
    ...through,
    process.execPath,
    resolve(project, 'dist', 'cli', 'main.js'),
    'serve',
    ...options,
  ];
  const child = spawn(words[0] ?? '', words.slice(1), {
    env: { ...environment, STILLCOUNT_DATA: folder, STILLCOUNT_PORT: '0', ...more },
    // A group of its own, as a terminal or npm would signal it.
    detached: true,
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  const gone: RunningService['gone'] = new Promise((resolve) =>
    child.once('exit', (code, signal) => resolve({ code, signal })),
  );
  const printed: string[] = [];
  const logged: string[] = [];
  createInterface({ input: child.stderr }).on('line', (line) => logged.push(line));
  let link: string | null = null;
  const lines = createInterface({ input: child.stdout });
  const address = await new Promise<string>((resolve, reject) => {
    let found = '';
    lines.on('line', (line) => {
      printed.push(line);
      found = /answers at (\S+)/.exec(line)?.[1] ?? found;
      link = /^\s+(http\S+\/begin\/\S+)/.exec(line)?.[1] ?? link;
      if (/Ctrl-C/.test(line)) resolve(found);
    });
    lines.once('close', () =>
      reject(new Error(`the service did not start: ${[...printed, ...logged].join('\n')}`)),
    );
  });
  return { child, address, link, printed, logged, gone };
}
