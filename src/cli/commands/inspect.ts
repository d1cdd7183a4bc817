import { readFile } from 'node:fs/promises';
import { buffer } from 'node:stream/consumers';
import type { Command } from 'commander';
import { inputError, placed } from '../../errors/stillcountError.js';
import { standardInput } from '../../session/standardInput.js';
import type { ReportFailure } from '../exitCode.js';
import { print, printJson } from '../print.js';
import { withTiming } from '../verbosity.js';

type Options = { against?: string; json?: boolean };

export function addInspectCommand(command: Command, reportFailure: ReportFailure): void {
  command
    .command('inspect')
    .description('measure a finished session: length, loudness, beats, background, chapters')
    .argument('<file>', 'MP3 file; - reads standard input')
    .option('--against <script>', 'timed script that it was made from (session.script.json)')
    .option('--json', 'print the measurements as JSON')
    .action(async (path: string, options: Options) => {
      // Loaded here, so that all other commands start without the measuring code.
      const { formatInspection } = await import('../../audio/inspect/formatInspection.js');
      const { readScript } = await import('../../audio/inspect/readScript.js');
      const { inspectSession } = await import('../../audio/inspect/inspectSession.js');
      const script =
        options.against === undefined
          ? null
          : readScript((await readInput(options.against)).toString('utf8'), options.against);
      const bytes = await readInput(path);
      const inspection = await withTiming('measure the session', () => inspectSession(bytes, script)).catch(
        (error: unknown) => {
          throw placed(error, { file: path === standardInput ? 'standard input' : path });
        },
      );
      if (options.json === true) printJson(inspection);
      else print(formatInspection(inspection));
      if (!inspection.passed) reportFailure();
    });
}

async function readInput(path: string): Promise<Buffer> {
  if (path === standardInput) return buffer(process.stdin);
  try {
    return await readFile(path);
  } catch (cause) {
    throw inputError(
      { file: path, message: 'this file cannot be read', allowed: 'a file that exists' },
      cause,
    );
  }
}
