import type { Command } from 'commander';
import type { HeardDose } from '../../script/doseHeard.js';
import { formatDuration, print, printJson } from '../print.js';
import { openProgramSource, withProgress } from '../programSource.js';
import { adjustmentLines } from './render.js';

type Options = { voice?: string; json?: boolean };

export function addScriptCommand(command: Command): void {
  command
    .command('script')
    .description('print the timed script of a program for reading')
    .argument('<program>', 'program file (YAML); - reads standard input')
    .option('--voice <voice>', 'voice to use instead of the program’s own')
    .option('--json', 'print the timed script as JSON')
    .action(showScript);
}

async function showScript(path: string, options: Options): Promise<void> {
  // Loaded here, so that all other commands start without the script code.
  const { transcriptOf } = await import('../../audio/transcript.js');
  const { dosesHeard } = await import('../../script/doseHeard.js');
  const { makeScript } = await import('../../session/makeSession.js');
  const { script } = await withProgress(await openProgramSource(path, options.voice), makeScript);
  if (options.json === true) {
    printJson(script);
    return;
  }
  print(
    transcriptOf(script),
    'The dose, read back from the script:',
    ...dosesHeard(script).flatMap(doseLine),
    '',
    ...adjustmentLines(script.adjustments),
  );
}

function doseLine({ title, work, underTensionSeconds }: HeardDose): string[] {
  const [first] = work;
  if (first === undefined) return [];
  const each = formatDuration(first.endMs - first.startMs);
  const names = { hold: 'holds', tempo: 'slow repetitions', breath: 'breaths', sustained: 'stretch of time' };
  const tension = underTensionSeconds > 0 ? `, ${underTensionSeconds} s under tension` : '';
  return [`  ${title}: ${work.length} ${names[first.kind]} of ${each}${tension}`];
}
