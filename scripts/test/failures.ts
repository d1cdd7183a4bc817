import path from 'node:path';
import { z } from 'zod';

/** One check that failed, as it is told again at the end of a run. */
export type Failure = {
  /** The file, or the tool. */
  where: string;
  /** The full name of the test; empty for a tool or a whole file. */
  name: string;
  message: string;
};

/** How many checks passed and were skipped, and every one that failed. */
export type Tally = { passed: number; skipped: number; failures: readonly Failure[] };

const vitestReportSchema = z.object({
  numPassedTests: z.int(),
  numFailedTests: z.int(),
  numPendingTests: z.int(),
  numTodoTests: z.int(),
  testResults: z.array(
    z.object({
      name: z.string(),
      status: z.enum(['passed', 'failed']),
      message: z.string(),
      assertionResults: z.array(
        z.object({
          fullName: z.string(),
          status: z.enum(['passed', 'failed', 'skipped', 'pending', 'todo', 'disabled']),
          failureMessages: z.array(z.string()),
        }),
      ),
    }),
  ),
});

/**
 * Counts one vitest project from vitest's own JSON report. What failed outside of a test, such as a hook or a file that
 * cannot be loaded, is a failure too: it has no test to count, yet must not pass unseen.
 *
 * @param report the report as read, null when there is none
 * @param folder paths are told from here
 */
export function tallyVitest(project: string, report: unknown, exitCode: number, folder: string): Tally {
  const read = vitestReportSchema.safeParse(report);
  const vitest = `vitest, project ${project}`;
  if (!read.success) {
    const message = `ended with ${exitCode} and left no report that can be read`;
    return { passed: 0, skipped: 0, failures: [{ where: vitest, name: '', message }] };
  }
  const { numPassedTests, numFailedTests, numPendingTests, numTodoTests, testResults } = read.data;
  const failures = testResults.flatMap(({ name: file, status, message, assertionResults }): Failure[] => {
    const where = path.relative(folder, file).split(path.sep).join('/');
    const failed = assertionResults.filter((test) => test.status === 'failed');
    if (status === 'failed' && failed.length === 0) {
      return [{ where, name: '', message: message || 'failed outside of its tests, in a hook for example' }];
    }
    return failed.map(({ fullName, failureMessages }) => ({
      where,
      name: fullName,
      message: failureMessages.join('\n'),
    }));
  });
  if (failures.length < numFailedTests || (exitCode !== 0 && failures.length === 0)) {
    const message = `ended with ${exitCode} and counts ${numFailedTests} failed tests; its own words stand above`;
    failures.push({ where: vitest, name: '', message });
  }
  return { passed: numPassedTests, skipped: numPendingTests + numTodoTests, failures };
}

export function addTallies(tallies: readonly Tally[]): Tally {
  return {
    passed: tallies.reduce((sum, { passed }) => sum + passed, 0),
    skipped: tallies.reduce((sum, { skipped }) => sum + skipped, 0),
    failures: tallies.flatMap(({ failures }) => failures),
  };
}

/** Lines of what one failure may say: the fewer there are, the more of each is told. */
const [mostLinesAlone, mostLinesEach] = [30, 8];
/** How much of a message's beginning is told; what led to it, as in the output of a terminal, is at its end. */
const openingLines = 2;
const leftOut = '...';

/**
 * Every failure again, for the end of a log whose beginning may be cut: its file and name, the beginning and the end of
 * its message, and where in our own code it was thrown.
 *
 * @param mostLines how many lines there may be in all; with many failures each has fewer of its message
 */
export function failureLines(failures: readonly Failure[], mostLines = 55): string[] {
  const told = failures.length > mostLines ? failures.slice(0, mostLines - 1) : failures;
  const most = told.length === 1 ? mostLinesAlone : mostLinesEach;
  const linesEach = Math.min(most, Math.floor(mostLines / Math.max(1, told.length)));
  const lines = told.flatMap(({ where, name, message }) => {
    const heading = name === '' ? `✗ ${where}` : `✗ ${where} > ${name}`;
    return [heading, ...linesOf(message, linesEach - 1).map((line) => `    ${line}`)];
  });
  return told.length === failures.length ? lines : [...lines, `and ${failures.length - told.length} more`];
}

function linesOf(message: string, most: number): string[] {
  const lines = message.split('\n').map((line) => line.trimEnd().slice(0, 200));
  const isFrame = (line: string) => /^\s+at /.test(line);
  const said = lines.filter((line) => line !== '' && !isFrame(line));
  const frame = lines.find((line) => isFrame(line) && !/node_modules|node:/.test(line));
  if (frame === undefined || most < 2) return beginningAndEnd(said, most);
  return [...beginningAndEnd(said, most - 1), frame.trim()];
}

function beginningAndEnd(lines: readonly string[], most: number): string[] {
  if (lines.length <= most) return [...lines];
  const ending = most - openingLines - 1;
  // Too few to leave anything out between them.
  if (ending < 1) return lines.slice(0, Math.max(0, most));
  return [...lines.slice(0, openingLines), leftOut, ...lines.slice(-ending)];
}
