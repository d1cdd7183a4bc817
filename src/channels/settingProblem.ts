import { inputError, type StillcountError } from '../errors/stillcountError.js';

/** A setting that cannot be used. What was found is never repeated: settings hold passwords. */
export function settingProblem(variable: string, allowed: string): StillcountError {
  return inputError({ file: 'environment', path: variable, message: 'this setting cannot be used', allowed });
}

/** A setting as it stands in the environment; an empty one counts as not set. */
export function settingOf(environment: NodeJS.ProcessEnv, variable: string): string | null {
  const value = environment[variable]?.trim();
  return value === undefined || value === '' ? null : value;
}
