/** The channels for messages; each has its file here and its line in `openChannels.ts`. */
export type ChannelName = 'mail' | 'push' | 'text' | 'terminal';

/** What a message is about: the kinds of delivery, and an alert that sending itself has stopped. */
export type MessageKind = 'due' | 'not-begun' | 'warning' | 'note' | 'digest' | 'account' | 'stands-still';

/** A message in every form that a channel may need, in its reader's language. */
export type Message = {
  /**
   * Permanent for one message to one contact, even if it is sent again; printable ASCII without spaces, quotes and
   * backslashes, because headers contain it.
   */
  key: string;
  /** The language of the text as a BCP 47 tag: `en`. */
  language: string;
  kind: MessageKind;
  subject: string;
  /** Paragraphs of plain text, without the addresses below. */
  text: string;
  /** One or two sentences for a lock screen or a text message. */
  short: string;
  /** The text of the link and its address; null if there is nothing to open. */
  link: { words: string; address: string } | null;
  /** Unsubscribes this contact; null if that is not possible, as for a clinician's warning. */
  unsubscribe: { words: string; address: string } | null;
  /** Warning signs do not wait for a phone to wake up. */
  isUrgent: boolean;
  /** How long the message is still worth delivering. */
  goodForSeconds: number;
};

/**
 * The result of an attempt. `why` is a reason from `outcomes.ts`: it contains no address and no name, and the clinic's
 * pages have a text for each.
 */
export type Outcome =
  | { outcome: 'sent' }
  /** It was handed over completely, but nobody confirmed it: it may or may not arrive. */
  | { outcome: 'unknown' }
  /** Not now; it is retried. */
  | { outcome: 'later'; why: string }
  /** This message will never be accepted. */
  | { outcome: 'refused'; why: string }
  /** No message will ever be accepted again: the address no longer exists. */
  | { outcome: 'gone'; why: string };

/** One way to send messages. */
export interface Channel {
  /**
   * Sends a message. It never throws for failures of others, and gives up when the signal aborts.
   *
   * @param address in this channel's own schema; an address that does not match is `gone`
   * @param onHandedOver called, if the channel can tell, when the other end has the whole message and its response is
   *   pending: that may take minutes, and giving up from then on leaves open whether it arrives
   */
  send(address: unknown, message: Message, signal: AbortSignal, onHandedOver?: () => void): Promise<Outcome>;
  close(): Promise<void>;
}
