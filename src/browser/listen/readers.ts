import { onPress, requireElement, writeText } from './dom.js';
import type { Parts } from './parts.js';

const forEver = new AbortController().signal;

/**
 * Sets up the addresses for other programs, such as a calendar or a podcast player: creating, replacing and ending
 * them.
 */
export function openReaders(parts: Parts, area: HTMLElement): void {
  for (const reader of area.querySelectorAll<HTMLElement>('[data-reader]')) {
    onPress(reader, '[data-do="give"]', forEver, () => give(parts, reader));
    onPress(reader, '[data-do="end"]', forEver, () => end(parts, reader));
  }
}

/** Creates a new address; the previous one ends. */
async function give({ words }: Parts, reader: HTMLElement): Promise<void> {
  const name = reader.dataset.reader ?? '';
  const response = await post(name);
  if (response === null) return writeText(reader, name, words.say('reader-failed'));
  const reply: { address: string } = await response.json();
  const address = new URL(reply.address, location.href);
  writeText(reader, name, address.href);
  const opens = reader.querySelector<HTMLElement>('[data-opens]');
  if (opens === null) return;
  // Phones open this scheme with their calendar, which then fetches the address regularly.
  requireElement<HTMLAnchorElement>(opens, '[data-open]').href = address.href.replace(/^https?:/, 'webcal:');
  opens.hidden = false;
}

async function end({ words }: Parts, reader: HTMLElement): Promise<void> {
  const name = reader.dataset.reader ?? '';
  const response = await post(`${name}/end`);
  writeText(reader, name, words.say(response === null ? 'reader-failed' : `${name}-ended`));
  const opens = reader.querySelector<HTMLElement>('[data-opens]');
  if (opens !== null && response !== null) opens.hidden = true;
}

/** Returns null when the service was not reached or refused. */
async function post(path: string): Promise<Response | null> {
  const response = await fetch(path, { method: 'POST' }).catch(() => null);
  return response?.ok ? response : null;
}
