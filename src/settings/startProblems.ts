import { mailSettings } from '../channels/mailSettings.js';
import { textSettings } from '../channels/textSettings.js';
import { inputError, type Problem, refusedBy } from '../errors/stillcountError.js';
import { commandSetting } from '../voice/commandSetting.js';
import { refusePlainHttp } from './plainHttp.js';
import { readAllSettings, settingProblems } from './readSettings.js';
import type { SettingValues } from './table.js';

/**
 * Returns every reason in the settings that keeps a service from starting: what is wrong with one on its own, with
 * those that others depend on, and with several together.
 *
 * @param sendsMessages whether the service's messages leave this machine; those of the demo do not
 */
export function startProblems(environment: NodeJS.ProcessEnv, sendsMessages = true): readonly Problem[] {
  const alone = settingProblems(environment);
  const reportedPaths = new Set(alone.map(({ path }) => path));
  const readers = [
    () => commandSetting(environment),
    ...(sendsMessages ? [() => mailSettings(environment), () => textSettings(environment)] : []),
  ];
  const read = readers.flatMap(refusedBy).filter(({ path }) => !reportedPaths.has(path));
  const problems = [...alone, ...read];
  // Combinations can be checked only once each setting can be read.
  if (problems.length > 0) return problems;
  const settings = readAllSettings(environment);
  return [
    () => refusePlainHttp(settings),
    ...(sendsMessages ? [() => requireAddress(settings)] : []),
  ].flatMap(refusedBy);
}

/**
 * Refuses settings with which a service would not do what they ask for.
 *
 * @throws StillcountError kind `input` naming each problem
 */
export function refuseToStartWith(environment: NodeJS.ProcessEnv, sendsMessages: boolean): void {
  const problems = startProblems(environment, sendsMessages);
  if (problems.length > 0) throw inputError(problems);
}

/** Messages link to the service: without its address, the links would lead to the reader's own machine. */
function requireAddress(settings: SettingValues): void {
  const { STILLCOUNT_MAIL_URL, STILLCOUNT_TEXT_URL, STILLCOUNT_ADDRESS } = settings;
  if (STILLCOUNT_ADDRESS !== undefined) return;
  if (STILLCOUNT_MAIL_URL === undefined && STILLCOUNT_TEXT_URL === undefined) return;
  throw inputError({
    file: 'environment',
    path: 'STILLCOUNT_ADDRESS',
    message: 'messages need the address of the service for their links',
    allowed: 'an address such as https://clinic.example.org',
  });
}
