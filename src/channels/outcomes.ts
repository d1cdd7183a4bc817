import type { Outcome } from './channel.js';

/** Why a message was not sent, for every channel. The clinic's pages have words for each. */
export const channelFailureReasons = [
  /** What is kept as the address is none for this channel. */
  'address-unreadable',
  /** The service was stopped, or gave up, before it was known whether the message had arrived. */
  'interrupted',
  /** The mail server did not answer, refused the connection, or went away in the middle. */
  'mail-unreachable',
  /** The mail server asks to try again later. */
  'mail-busy',
  /** The mail server takes messages over a secured connection only, or offers none although one is needed. */
  'mail-not-secured',
  /** The mail server does not accept the user name and password of the settings. */
  'mail-sign-in',
  /** The mail server does not take this message. */
  'mail-refused',
  'mail-no-such-address',
  'push-unreachable',
  'push-busy',
  'push-refused',
  /** The browser's subscription leads into a private network. */
  'push-not-allowed',
  /** The browser no longer has this subscription. */
  'push-gone',
  'text-unreachable',
  'text-busy',
  /** The gateway does not accept our signature: the secret of the settings. */
  'text-sign-in',
  'text-refused',
  /** The gateway says that the number or name is no more. */
  'text-gone',
  'terminal-closed',
] as const;
export type ChannelFailureReason = (typeof channelFailureReasons)[number];

export const sent: Outcome = { outcome: 'sent' };
export const unknown: Outcome = { outcome: 'unknown' };
export const later = (why: ChannelFailureReason): Outcome => ({ outcome: 'later', why });
export const refused = (why: ChannelFailureReason): Outcome => ({ outcome: 'refused', why });
export const gone = (why: ChannelFailureReason): Outcome => ({ outcome: 'gone', why });
