import { basename, extname, join } from 'node:path';
import type { Command } from 'commander';
import { makeSession } from '../../session/makeSession.js';
import { standardInput } from '../../session/readProgramFile.js';
import { writeSession } from '../../session/writeSession.js';
import { duration, print, printJson } from '../print.js';
import { openProgramSource, withProgress } from '../programSource.js';

type Options = { out?: string; voice?: string; json?: boolean };

export function addRenderCommand(command: Command): void {
  command
    .command('render')
    .description('make the session: session.mp3, captions, timed script and the words to read')
    .argument('<program>', 'program file (YAML); - reads standard input')
    .option('--out <folder>', 'folder for the four files (default: output/ and the name of the program file)')
    .option('--voice <voice>', 'use this voice instead of the program’s own')
    .option('--json', 'print what was made as JSON')
    .action(render);
}

async function render(path: string, options: Options): Promise<void> {
  const source = await openProgramSource(path, options.voice);
  const folder =
    options.out ?? join('output', path === standardInput ? 'session' : basename(path, extname(path)));
  const session = await withProgress(source, makeSession);
  const files = await writeSession(session, folder);
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
  print(
    `${session.script.title}: ${duration(durationMs)}, ${(session.audio.byteLength / 1e6).toFixed(1)} MB, voice ${voice}`,
    ...files.map((file) => `  ${file}`),
    ...adjustmentLines(adjustments),
  );
}

/** What placing had to change, or one line saying that nothing was. */
export function adjustmentLines(adjustments: readonly { text: string }[]): string[] {
  if (adjustments.length === 0) return ['Nothing had to be adjusted.'];
  return ['Adjusted:', ...adjustments.map(({ text }) => `  - ${text}`)];
}
