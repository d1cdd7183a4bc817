import type { Message } from './channel.js';

/** A message as plain text without its subject: what it says, where it leads, how to end such messages. */
export function plainText({
  text,
  link,
  unsubscribe,
}: Pick<Message, 'text' | 'link' | 'unsubscribe'>): string {
  const parts = [
    text.trim(),
    ...(link === null ? [] : [`${link.words}:\n${link.address}`]),
    // Two hyphens and a space: what stands below is not part of the message (common practice, RFC 3676, section 4.3).
    ...(unsubscribe === null ? [] : [`-- \n${unsubscribe.words}:\n${unsubscribe.address}`]),
  ];
  return `${parts.join('\n\n')}\n`;
}
