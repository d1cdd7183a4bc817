import { z } from 'zod';
import { nearestName } from '../errors/nearestName.js';
import { inputError, type Problem } from '../errors/stillcountError.js';
import { maskedValue } from './masked.js';
import { aboutSetting, type SettingName, type SettingValues, settingNames, settingsSchema } from './table.js';

const prefix = 'STILLCOUNT_';
/** The prefix of variables that only this project's tests use. */
const testPrefix = 'STILLCOUNT_TEST_';

/**
 * Reads every setting from the environment.
 *
 * @throws StillcountError kind `input` naming each variable that is unknown, empty or not usable
 */
export function readAllSettings(environment: NodeJS.ProcessEnv): SettingValues {
  const problems = [...unknownNames(environment), ...emptyOnes(environment)];
  const values = { ...defaults(), ...setOnes(environment) };
  const result = settingsSchema.safeParse(values);
  if (result.success && problems.length === 0) return result.data;
  throw inputError([...problems, ...(result.error?.issues ?? []).map((issue) => problemOf(issue, values))]);
}

/** Returns what is wrong with each setting on its own, for a list of settings. */
export function settingProblems(environment: NodeJS.ProcessEnv): readonly Problem[] {
  const values = { ...defaults(), ...setOnes(environment) };
  const issues = settingsSchema.safeParse(values).error?.issues ?? [];
  return [
    ...unknownNames(environment),
    ...emptyOnes(environment),
    ...issues.map((issue) => problemOf(issue, values)),
  ];
}

function unknownNames(environment: NodeJS.ProcessEnv): Problem[] {
  const known: readonly string[] = settingNames;
  return Object.keys(environment)
    .filter((name) => name.startsWith(prefix) && !name.startsWith(testPrefix) && !known.includes(name))
    .sort()
    .map((name) => {
      const meant = meantBy(name);
      return {
        ...{ file: 'environment', path: name, message: 'there is no such setting' },
        hint:
          meant === undefined
            ? 'unset it; "stillcount settings" lists all that there are'
            : `did you mean ${meant}?`,
      };
    });
}

/** Returns the setting that starts with the same letters as a name, or differs from it in only a few. */
function meantBy(name: string): string | undefined {
  const short = (each: string) => each.slice(prefix.length);
  const ours = settingNames.filter((each) => each.startsWith(prefix));
  const longer = ours.find((each) => short(name).length > 2 && short(each).startsWith(short(name)));
  const nearest = longer === undefined ? nearestName(short(name), ours.map(short)) : undefined;
  return longer ?? (nearest === undefined ? undefined : `${prefix}${nearest}`);
}

function emptyOnes(environment: NodeJS.ProcessEnv): Problem[] {
  return settingNames
    .filter((name) => environment[name]?.trim() === '')
    .map((name) => ({
      ...{ file: 'environment', path: name, message: 'this setting is empty', found: 'nothing' },
      allowed: `something like ${aboutSetting(name).example}`,
      hint: 'unset it to use the default',
    }));
}

function setOnes(environment: NodeJS.ProcessEnv): Partial<Record<SettingName, string>> {
  return Object.fromEntries(
    settingNames.flatMap((name) => {
      const value = environment[name];
      return value === undefined || value.trim() === '' ? [] : [[name, value]];
    }),
  );
}

/**
 * Returns the defaults of settings that cannot be empty; the code that reads the others knows what to do without them.
 */
function defaults(): Partial<Record<SettingName, string>> {
  return Object.fromEntries(
    settingNames.flatMap((name) => {
      const value = aboutSetting(name).default;
      return value === null || settingsSchema.shape[name] instanceof z.ZodOptional ? [] : [[name, value]];
    }),
  );
}

function problemOf(issue: z.core.$ZodIssue, values: Readonly<Partial<Record<SettingName, string>>>): Problem {
  const name = settingNames.find((each) => each === issue.path[0]);
  if (name === undefined) return { file: 'environment', message: issue.message };
  return {
    ...{ file: 'environment', path: name },
    message: issue.code === 'custom' ? issue.message : 'this setting cannot be used',
    found: maskedValue(name, values[name] ?? ''),
    allowed: allowedFor(name),
  };
}

const allowedSchema = z.object({ allowed: z.string() });

function allowedFor(name: SettingName): string {
  const schema = settingsSchema.shape[name];
  const inner = schema instanceof z.ZodOptional ? schema.unwrap() : schema;
  if (inner instanceof z.ZodEnum) return inner.options.join(' or ');
  return allowedSchema.safeParse(inner.meta()).data?.allowed ?? aboutSetting(name).example;
}
