import type { Message } from './channel.js';

/** Formats a message as plain text without its subject: the text, the link, and how to unsubscribe. */
export function plainText({
  text,
  link,
  unsubscribe,
}: Pick<Message, 'text' | 'link' | 'unsubscribe'>): string {
  const parts = [
    text.trim(),
    ...(link === null ? [] : [`${link.words}:\n${link.address}`]),
    // Two hyphens and a space: what follows is not part of the message (common practice, RFC 3676, section 4.3).
    ...(unsubscribe === null ? [] : [`-- \n${unsubscribe.words}:\n${unsubscribe.address}`]),
  ];
  return `${parts.join('\n\n')}\n`;
}
