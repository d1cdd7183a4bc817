import type { Command } from 'commander';
import { formatProblem } from '../../errors/stillcountError.js';
import { type ListedSetting, listSettings } from '../../settings/listSettings.js';
import { startProblems } from '../../settings/startProblems.js';
import type { ReportFailure } from '../exitCode.js';
import { print, printJson } from '../print.js';

/**
 * `stillcount settings`: prints every setting with its current value and source, and the problems that would keep a
 * service from starting.
 */
export function addSettingsCommand(command: Command, reportFailure: ReportFailure): void {
  command
    .command('settings')
    .description('list every setting with its value, where that comes from, and its default')
    .option('--json', 'print as JSON')
    .action((options: { json?: boolean }) => {
      const settings = listSettings(process.env);
      const problems = startProblems(process.env);
      if (options.json === true) printJson({ settings, problems });
      else {
        print(settings.map(inLines).join('\n\n'));
        if (problems.length > 0) print('', 'Problems:', ...problems.map(formatProblem));
      }
      if (problems.length > 0) reportFailure();
    });
}

const sources = { environment: 'set', default: 'default', 'not set': 'not set' } as const;

function inLines({ name, value, source, description, default: standard, example }: ListedSetting): string {
  return [
    value === null ? `${name} (not set)` : `${name} = ${value} (${sources[source]})`,
    `  ${description}`,
    ...(source === 'environment' && standard !== null ? [`  default: ${standard}`] : []),
    `  example: ${name}=${/[\s<>"']/.test(example) ? `'${example}'` : example}`,
  ].join('\n');
}
