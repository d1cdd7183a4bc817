import { spawn } from 'node:child_process';
import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { type Tally, tallyVitest } from './failures.js';

/** A check runs before everybody's eyes, or aside: then what it says is printed in one piece when it has ended. */
export type How = { isAside?: boolean };

/** Runs one tool that counts as one test: its exit code decides. Of one that runs aside, only a fault is printed. */
export async function runTool(
  title: string,
  command: string,
  words: readonly string[],
  how: How = { isAside: true },
): Promise<Tally> {
  const { code, said } = await run(command, words, how);
  if (code === 0) {
    if (how.isAside) console.log(`\n== ${title}: no fault`);
    return { passed: 1, skipped: 0, failures: [] };
  }
  const message = `${[command, ...words].join(' ')} ended with ${code}; its own words stand above`;
  console.log(`\n== ${title}\n${said}✗ ${title}: ${message}`);
  return { passed: 0, skipped: 0, failures: [{ where: title, name: '', message }] };
}

/** Runs one vitest project and counts its tests from vitest's own report, written into `folder`. */
export async function runVitest(
  title: string,
  project: string,
  folder: string,
  how: How = {},
): Promise<Tally> {
  if (!how.isAside) console.log(`\n== ${title}`);
  const reportFile = path.join(folder, `${project}.json`);
  const reporters = ['--reporter=default', '--reporter=json', `--outputFile.json=${reportFile}`];
  // What is known of earlier runs lies in one file: of two that run side by side, the last would undo what the first wrote.
  const cache = how.isAside ? ['--no-cache'] : [];
  const { code, said } = await run('vitest', ['run', '--project', project, ...reporters, ...cache], how);
  if (how.isAside) process.stdout.write(`\n== ${title}\n${said}`);
  return tallyVitest(project, await readReport(reportFile), code, process.cwd());
}

/** What vitest wrote; null when it wrote nothing, or only half. */
async function readReport(file: string): Promise<unknown> {
  try {
    return JSON.parse(await readFile(file, 'utf8'));
  } catch {
    return null;
  }
}

/** @returns what it said, where that is not printed as it says it */
function run(
  command: string,
  words: readonly string[],
  { isAside }: How,
): Promise<{ code: number; said: string }> {
  return new Promise((resolve) => {
    const said: Buffer[] = [];
    const end = (code: number) => resolve({ code, said: Buffer.concat(said).toString() });
    const stdio = isAside ? 'pipe' : 'inherit';
    const child = spawn(command, words, { stdio, shell: process.platform === 'win32' });
    for (const stream of [child.stdout, child.stderr])
      stream?.on('data', (chunk: Buffer) => said.push(chunk));
    child.on('error', ({ message }) => {
      said.push(Buffer.from(`${message}\n`));
      end(1);
    });
    child.on('close', (code) => end(code ?? 1));
  });
}
