const ours = /^<?stillcount\.([A-Za-z0-9_-]+)@[^<>\s]+>?$/;

/**
 * The Message-ID (RFC 5322, section 3.6.4) of a message: the same each time it is sent, so that a mail client shows it
 * once, and so that a bounce identifies it.
 *
 * @param domain the domain of the sender's address
 */
export function messageIdOf(key: string, domain: string): string {
  return `<stillcount.${Buffer.from(key).toString('base64url')}@${domain}>`;
}

/** Returns the key in one of our Message-IDs; null for any other text. */
export function keyOfMessageId(messageId: string): string | null {
  const encoded = ours.exec(messageId.trim())?.[1];
  if (encoded === undefined) return null;
  const key = Buffer.from(encoded, 'base64url').toString();
  // Base64 has several spellings for some bytes, and some bytes are not text: only what we would write is ours.
  return Buffer.from(key).toString('base64url') === encoded ? key : null;
}
