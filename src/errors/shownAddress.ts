/** Kinds of addresses that settings hold. What stands before another colon may be a name before a password. */
const knownProtocols: ReadonlySet<string> = new Set([
  'http:',
  'https:',
  'smtp:',
  'smtps:',
  'postgres:',
  'postgresql:',
]);

/** What of an address may be shown: nothing that someone could sign in with. */
export type ShownAddress = { protocol: string; host: string; signsIn: boolean; hasPath: boolean };

/**
 * Of an address its kind and its host. A sign such as / or # that stands in a password as it is ends the host early:
 * what reads as host and port then is a name and the beginning of the password.
 *
 * @returns null where it cannot be told what of it is no password
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
