import { aboutSetting, type SettingName } from './table.js';

/** A value as it may be shown: without what somebody could sign in with. */
export function maskedValue(name: SettingName, value: string): string {
  const { shown } = aboutSetting(name);
  if (shown === 'all') return value;
  if (shown === 'nothing' || !URL.canParse(value)) return '(set, not shown)';
  const { protocol, username, password, host, pathname } = new URL(value);
  const who = username === '' && password === '' ? '' : '***@';
  return `${protocol}//${who}${host}${pathname.length > 1 ? '/...' : ''}`;
}
