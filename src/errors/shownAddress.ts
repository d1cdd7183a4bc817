/** The protocols of addresses in settings. The part before any other colon may be a user name before a password. */
const knownProtocols: ReadonlySet<string> = new Set([
  'http:',
  'https:',
  'smtp:',
  'smtps:',
  'postgres:',
  'postgresql:',
]);

/** The parts of an address that may be shown: nothing that someone could sign in with. */
export type ShownAddress = { protocol: string; host: string; signsIn: boolean; hasPath: boolean };

/**
 * Returns the protocol and host of an address. An unescaped character such as / or # in a password ends the host early:
 * what then reads as host and port is a user name and the beginning of the password.
 *
 * @returns null if any part of it may be a password
 */
export function shownAddress(text: string): ShownAddress | null {
  if (!URL.canParse(text)) return null;
  const { protocol, username, host, pathname } = new URL(text);
  const [, beforePath = ''] = /^[^/?#\\]*\/\/([^/?#\\]*)/.exec(text) ?? [];
  const isWhole = text.split('@').length === beforePath.split('@').length;
  const signsIn = text.includes('@');
  if (!knownProtocols.has(protocol) || !isWhole || (signsIn && username === '')) return null;
  return { protocol, host, signsIn, hasPath: pathname.length > 1 };
}
