import { resolve } from 'node:path';
import { maskedValue } from './masked.js';
import { aboutSetting, type SettingName, settingNames } from './table.js';

/** A setting as it is displayed. */
export type ListedSetting = {
  name: SettingName;
  description: string;
  /** The current value, secrets masked; null if it is not set and has no default. */
  value: string | null;
  /** Where the value comes from. */
  source: 'environment' | 'default' | 'not set';
  default: string | null;
  example: string;
};

const folders: readonly SettingName[] = ['STILLCOUNT_DATA', 'STILLCOUNT_BACKUPS', 'STILLCOUNT_TEMPLATES'];

/** Lists every setting with its value and source; folders as absolute paths. */
export function listSettings(environment: NodeJS.ProcessEnv): ListedSetting[] {
  const dataFolder = resolve(
    environment.STILLCOUNT_DATA?.trim() || (aboutSetting('STILLCOUNT_DATA').default ?? ''),
  );
  return settingNames.map((name) => {
    const about = aboutSetting(name);
    const { description, example } = about;
    const standard = name === 'STILLCOUNT_BACKUPS' ? resolve(dataFolder, 'backups') : about.default;
    const typed = environment[name];
    const source = typed !== undefined ? 'environment' : standard === null ? 'not set' : 'default';
    const value = typed === undefined ? standard : maskedValue(name, typed);
    const isFolder = folders.includes(name) && value !== null && value.trim() !== '';
    return {
      ...{ name, description, source, example },
      value: isFolder ? resolve(value) : value,
      default: folders.includes(name) && standard !== null ? resolve(standard) : standard,
    };
  });
}
