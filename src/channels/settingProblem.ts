import { shownAddress } from '../errors/shownAddress.js';
import { inputError, type StillcountError } from '../errors/stillcountError.js';

/**
 * A setting that cannot be used. Settings hold passwords: of what was found only as much is said as holds none.
 *
 * @param text of a setting that is an address; null where it is not set, left out where nothing is to be said of it
 */
export function settingProblem(variable: string, allowed: string, text?: string | null): StillcountError {
  const found = text === null ? 'nothing' : text === undefined ? undefined : shownOf(text);
  return inputError({
    ...{ file: 'environment', path: variable, message: 'this setting cannot be used', allowed },
    ...(found === undefined ? {} : { found }),
  });
}

/** A setting as it stands in the environment; an empty one counts as not set. */
export function settingOf(environment: NodeJS.ProcessEnv, variable: string): string | null {
  const value = environment[variable]?.trim();
  return value === undefined || value === '' ? null : value;
}

/** Of an address its kind and host: who signs in, and where inside it, may be secrets. */
function shownOf(text: string): string {
  const address = shownAddress(text);
  if (address === null) return 'no address (not shown, it may be a password)';
  return `an address at ${address.protocol}//${address.host}`;
}
