import { basename, extname, join } from 'node:path';
import type { Command } from 'commander';
import { standardInput } from '../../session/standardInput.js';
import { formatDuration, print, printJson } from '../print.js';
import { openProgramSource, withProgress } from '../programSource.js';
import { forceOption, refuseExisting } from '../targets.js';
import { printInfo, withTiming } from '../verbosity.js';

type Options = { out?: string; voice?: string; force?: boolean; json?: boolean };

export function addRenderCommand(command: Command): void {
  command
    .command('render')
    .description('make the session: session.mp3, captions, timed script and transcript')
    .argument('<program>', 'program file (YAML); - reads standard input')
    .option('--out <folder>', 'folder for the four files (default: output/ and the name of the program file)')
    .option('--voice <voice>', 'voice to use instead of the program’s own')
    .option(...forceOption)
    .option('--json', 'print what was made as JSON')
    .action(render);
}

async function render(path: string, options: Options): Promise<void> {
  // Loaded here, so that all other commands start without the audio code.
  const { makeSession } = await import('../../session/makeSession.js');
  const { sessionFileNames, writeSession } = await import('../../session/writeSession.js');
  const folder =
    options.out ?? join('output', path === standardInput ? 'session' : basename(path, extname(path)));
  const targets = sessionFileNames.map((name) => join(folder, name));
  const source = await openProgramSource(path, options.voice);
  await refuseExisting(targets, options.force === true);
  const session = await withProgress(source, makeSession);
  const files = await withTiming('write the files', () => writeSession(session, folder));
  const { durationMs, adjustments, voice } = session.script;
  if (options.json === true) {
    printJson({
      files,
      durationMs,
      bytes: session.audio.byteLength,
      voice,
      voiceCalls: session.voiceCalls,
      adjustments,
    });
    return;
  }
  printInfo(
    `${session.script.title}: ${formatDuration(durationMs)}, ${(session.audio.byteLength / 1e6).toFixed(1)} MB, voice ${voice}`,
  );
  print(...files.map((file) => `  ${file}`));
  if (adjustments.length === 0) printInfo(...adjustmentLines(adjustments));
  else print(...adjustmentLines(adjustments));
}

/** Lists the adjustments made during placement, or says in one line that there were none. */
export function adjustmentLines(adjustments: readonly { text: string }[]): string[] {
  if (adjustments.length === 0) return ['No adjustments were needed.'];
  return ['Adjusted:', ...adjustments.map(({ text }) => `  - ${text}`)];
}
