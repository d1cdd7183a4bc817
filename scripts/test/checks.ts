import { spawn } from 'node:child_process';
import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { z } from 'zod';

/** How many tests ended each way. */
export type Tally = { passed: number; failed: number; skipped: number };

const vitestReportSchema = z.object({
  numPassedTests: z.int(),
  numFailedTests: z.int(),
  numPendingTests: z.int(),
  numTodoTests: z.int(),
  testResults: z.array(
    z.object({ name: z.string(), status: z.string(), assertionResults: z.array(z.unknown()) }),
  ),
});

/** Runs one tool that counts as one test: its exit code decides. */
export async function runTool(title: string, command: string, words: readonly string[]): Promise<Tally> {
  console.log(`\n== ${title}`);
  const code = await run(command, words);
  return { passed: code === 0 ? 1 : 0, failed: code === 0 ? 0 : 1, skipped: 0 };
}

/** Runs one vitest project and counts its tests from vitest's own report, written into `folder`. */
export async function runVitest(title: string, project: string, folder: string): Promise<Tally> {
  console.log(`\n== ${title}`);
  const reportFile = path.join(folder, `${project}.json`);
  const reporters = ['--reporter=default', '--reporter=json', `--outputFile.json=${reportFile}`];
  const code = await run('vitest', ['run', '--project', project, ...reporters]);
  const report = vitestReportSchema.safeParse(
    JSON.parse(await readFile(reportFile, 'utf8').catch(() => 'null')),
  );
  if (!report.success) return { passed: 0, failed: 1, skipped: 0 };
  // A file that fails before its first test has no test to count, yet must not pass unseen.
  const brokenFiles = report.data.testResults.filter(
    (file) => file.status === 'failed' && file.assertionResults.length === 0,
  ).length;
  const tally = {
    passed: report.data.numPassedTests,
    failed: report.data.numFailedTests + brokenFiles,
    skipped: report.data.numPendingTests + report.data.numTodoTests,
  };
  return code !== 0 && tally.failed === 0 ? { ...tally, failed: 1 } : tally;
}

export function addTallies(tallies: readonly Tally[]): Tally {
  return tallies.reduce(
    (sum, tally) => ({
      passed: sum.passed + tally.passed,
      failed: sum.failed + tally.failed,
      skipped: sum.skipped + tally.skipped,
    }),
    { passed: 0, failed: 0, skipped: 0 },
  );
}

function run(command: string, words: readonly string[]): Promise<number> {
  return new Promise((resolve, reject) => {
    const child = spawn(command, words, { stdio: 'inherit', shell: process.platform === 'win32' });
    child.on('error', reject);
    child.on('close', (code) => resolve(code ?? 1));
  });
}
