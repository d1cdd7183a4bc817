import type { Outcome } from './channel.js';

/** The reasons why a message was not sent, for all channels. The clinic's pages have a text for each. */
export const channelFailureReasons = [
  /** The stored address is not valid for this channel. */
  'address-unreadable',
  /** The service stopped, or gave up, before it was known whether the message had arrived. */
  'interrupted',
  /** The mail server did not respond, refused the connection, or disconnected in the middle. */
  'mail-unreachable',
  /** The mail server asks for a retry later. */
  'mail-busy',
  /** The mail server requires an encrypted connection, or offers none although one is required. */
  'mail-not-secured',
  /** The mail server rejects the user name and password in the settings. */
  'mail-sign-in',
  /** The mail server rejects this message. */
  'mail-refused',
  'mail-no-such-address',
  'push-unreachable',
  'push-busy',
  'push-refused',
  /** The browser's subscription points into a private network. */
  'push-not-allowed',
  /** The browser no longer has this subscription. */
  'push-gone',
  'text-unreachable',
  'text-busy',
  /** The gateway rejects our signature: the secret in the settings is wrong. */
  'text-sign-in',
  'text-refused',
  /** The gateway says that the number or name no longer exists. */
  'text-gone',
  'terminal-closed',
] as const;
export type ChannelFailureReason = (typeof channelFailureReasons)[number];

export const sent: Outcome = { outcome: 'sent' };
export const unknown: Outcome = { outcome: 'unknown' };
export const later = (why: ChannelFailureReason): Outcome => ({ outcome: 'later', why });
export const refused = (why: ChannelFailureReason): Outcome => ({ outcome: 'refused', why });
export const gone = (why: ChannelFailureReason): Outcome => ({ outcome: 'gone', why });
