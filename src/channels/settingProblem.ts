import { shownAddress } from '../errors/shownAddress.js';
import { inputError, type StillcountError } from '../errors/stillcountError.js';

/**
 * Creates the error for an unusable setting. Settings contain passwords, so it shows only parts that contain none.
 *
 * @param text the value of a setting that is an address; null if it is not set, omitted if nothing of it may be shown
 */
export function settingProblem(variable: string, allowed: string, text?: string | null): StillcountError {
  const found = text === null ? 'nothing' : text === undefined ? undefined : shownOf(text);
  return inputError({
    ...{ file: 'environment', path: variable, message: 'this setting cannot be used', allowed },
    ...(found === undefined ? {} : { found }),
  });
}

/** Returns a setting from the environment; an empty one counts as not set. */
export function settingOf(environment: NodeJS.ProcessEnv, variable: string): string | null {
  const value = environment[variable]?.trim();
  return value === undefined || value === '' ? null : value;
}

/** Returns the protocol and host of an address, because its user and path may be secrets. */
function shownOf(text: string): string {
  const address = shownAddress(text);
  if (address === null) return 'no address (not shown, it may be a password)';
  return `an address at ${address.protocol}//${address.host}`;
}
