import { shownAddress } from '../errors/shownAddress.js';
import { aboutSetting, type SettingName } from './table.js';

/** Masks a value for display: removes everything that someone could sign in with. */
export function maskedValue(name: SettingName, value: string): string {
  const { shown } = aboutSetting(name);
  if (shown === 'all') return value;
  const address = shown === 'nothing' ? null : shownAddress(value);
  if (address === null) return '(set, not shown)';
  const { protocol, host, signsIn, hasPath } = address;
  return `${protocol}//${signsIn ? '***@' : ''}${host}${hasPath ? '/...' : ''}`;
}
