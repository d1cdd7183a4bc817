import { type StillcountError, workError } from '../../errors/stillcountError.js';
import { type GroupOutcome, lastLines, runInGroup } from '../../programs/runInGroup.js';

export type ProgramRun = {
  /** The program's name in messages. */
  name: string;
  path: string;
  args: readonly string[];
  stdin: string;
  timeoutMs: number;
};

/**
 * About six minutes of CD-quality sound: far more than any phrase needs, and a limit for a program that writes without
 * end.
 */
const mostOutputBytes = 64 * 1024 * 1024;

/**
 * Runs a program without a shell and returns its standard output.
 *
 * @throws StillcountError kind `work` with the program's name and its last line of output, when it cannot start, ends
 *   with an error, is killed by a signal, exceeds its time, or writes without end
 */
export async function runProgram(run: ProgramRun): Promise<Buffer> {
  const outcome = await runInGroup({
    ...{ path: run.path, args: run.args, input: [Buffer.from(run.stdin)] },
    ...{ silentMs: run.timeoutMs, wholeMs: run.timeoutMs, mostOutputBytes },
  });
  if (outcome.kind === 'done') return outcome.output;
  throw problemOf(run, outcome);
}

function problemOf(run: ProgramRun, outcome: Exclude<GroupOutcome, { kind: 'done' }>): StillcountError {
  const lastLine = lastLines(outcome.log, 1);
  const problem = { message: `The voice program ${run.name} ${faultOf(run, outcome)}.` };
  return workError(lastLine === '' ? problem : { ...problem, found: lastLine });
}

function faultOf({ timeoutMs }: ProgramRun, outcome: Exclude<GroupOutcome, { kind: 'done' }>): string {
  switch (outcome.kind) {
    case 'no-answer':
      return `took longer than ${timeoutMs / 1000} s and was ended`;
    case 'exit':
      return `ended with exit code ${outcome.code}`;
    case 'signal':
      return `was ended by ${outcome.signal}`;
    case 'too-much':
      return 'wrote without end';
    case 'not-started':
      return `could not be started (${outcome.code ?? 'no reason given'})`;
  }
}
