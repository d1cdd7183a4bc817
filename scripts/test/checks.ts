import { spawn } from 'node:child_process';
import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { type Tally, tallyVitest } from './failures.js';

/**
 * Runs one tool that counts as one test: its exit code decides.
 *
 * @param isHeard whether what it says is printed in one piece when it has ended, so that tools can run side by side;
 *   otherwise it shows its own progress
 */
export async function runTool(
  title: string,
  command: string,
  words: readonly string[],
  { isHeard = true } = {},
): Promise<Tally> {
  const said: Buffer[] = [];
  const code = await run(command, words, isHeard ? (chunk) => said.push(chunk) : undefined);
  if (isHeard) process.stdout.write(`\n== ${title}\n${Buffer.concat(said).toString()}`);
  if (code === 0) return { passed: 1, skipped: 0, failures: [] };
  const message = `${[command, ...words].join(' ')} ended with ${code}; its own words stand above`;
  return { passed: 0, skipped: 0, failures: [{ where: title, name: '', message }] };
}

/**
 * Runs one vitest project and counts its tests from vitest's own report, written into `folder`.
 *
 * @param isHeard whether what it says is printed in one piece when it has ended, so that another one can run beside it
 */
export async function runVitest(
  title: string,
  project: string,
  folder: string,
  { isHeard = false } = {},
): Promise<Tally> {
  const said: Buffer[] = [];
  if (!isHeard) console.log(`\n== ${title}`);
  const reportFile = path.join(folder, `${project}.json`);
  const reporters = ['--reporter=default', '--reporter=json', `--outputFile.json=${reportFile}`];
  const hear = isHeard ? (chunk: Buffer) => said.push(chunk) : undefined;
  const code = await run('vitest', ['run', '--project', project, ...reporters], hear);
  if (isHeard) process.stdout.write(`\n== ${title}\n${Buffer.concat(said).toString()}`);
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

/** @param hear takes what the command says; without it, it says it itself */
function run(command: string, words: readonly string[], hear?: (chunk: Buffer) => void): Promise<number> {
  return new Promise((resolve, reject) => {
    const stdio = hear === undefined ? 'inherit' : 'pipe';
    const child = spawn(command, words, { stdio, shell: process.platform === 'win32' });
    if (hear !== undefined) {
      child.stdout?.on('data', hear);
      child.stderr?.on('data', hear);
    }
    child.on('error', reject);
    child.on('close', (code) => resolve(code ?? 1));
  });
}
