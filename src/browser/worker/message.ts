/** The content of a push message, and what pressing it opens. */
export type PushMessage = { title: string; body: string; tag: string; address: string | null };

/** Parses a message from the service; null for any other shape. */
export function messageOf(text: string): PushMessage | null {
  const { title, body, tag, address } = Object(parsed(text));
  const areTexts = [title, body, tag].every((each) => typeof each === 'string') && title !== '';
  const isAddress = address === null || typeof address === 'string';
  return areTexts && isAddress ? { title, body, tag, address } : null;
}

/**
 * Returns what to open for an address in a message: the address itself where it belongs to the page, or else the page.
 *
 * @param page the full address of the page, with its trailing slash
 */
export function addressWithin(page: string, address: unknown): string {
  if (typeof address !== 'string') return page;
  try {
    const { href } = new URL(address, page);
    return href.startsWith(page) ? href : page;
  } catch {
    return page;
  }
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
