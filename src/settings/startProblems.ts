import { mailSettings } from '../channels/mailSettings.js';
import { textSettings } from '../channels/textSettings.js';
import { inputError, type Problem, refusedBy } from '../errors/stillcountError.js';
import { commandSetting } from '../voice/commandSetting.js';
import { refusePlainHttp } from './plainHttp.js';
import { readAllSettings, settingProblems } from './readSettings.js';
import type { SettingValues } from './table.js';

/**
 * Every reason in the settings for which a service does not start: what is wrong with one by itself, with those that
 * others read, and with several together.
 *
 * @param sendsMessages whether what a service sends leaves this machine: that of the demo does not
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
  // What several mean together is known once each can be read.
  if (problems.length > 0) return problems;
  const settings = readAllSettings(environment);
  return [
    () => refusePlainHttp(settings),
    ...(sendsMessages ? [() => requireAddress(settings)] : []),
  ].flatMap(refusedBy);
}

/**
 * Refuses settings with which a service would not do what was asked of it.
 *
 * @throws StillcountError kind `input` naming each of them
 */
export function refuseToStartWith(environment: NodeJS.ProcessEnv, sendsMessages: boolean): void {
  const problems = startProblems(environment, sendsMessages);
  if (problems.length > 0) throw inputError(problems);
}

/** Messages lead to the service: without its address they would lead to the reader's own machine. */
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
