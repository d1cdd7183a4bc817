/** The ways in which messages travel; each has its file here and its line in `openChannels.ts`. */
export type ChannelName = 'mail' | 'push' | 'text' | 'terminal';

/** What a message is about: the kinds of delivery, and that deliveries themselves stand still. */
export type MessageKind = 'due' | 'not-begun' | 'warning' | 'note' | 'digest' | 'account' | 'stands-still';

/** A message in every form that some channel may need, in the words of its reader's language. */
export type Message = {
  /**
   * The same for ever for one message to one contact, also when it has to be sent again; printable ASCII without
   * spaces, quotes and backslashes, because headers carry it.
   */
  key: string;
  /** Language of the words, as BCP 47 names it: `en`. */
  language: string;
  kind: MessageKind;
  subject: string;
  /** Paragraphs of plain text, without the addresses below. */
  text: string;
  /** One or two sentences for a screen that is locked, or for a text message. */
  short: string;
  /** What the link is called, and where it leads; null when there is nothing to open. */
  link: { words: string; address: string } | null;
  /** Ends messages to this contact; null where that cannot be, as for a clinician's warning. */
  unsubscribe: { words: string; address: string } | null;
  /** Warning signs do not wait for a telephone to wake up. */
  isUrgent: boolean;
  /** For how long it is still worth being delivered. */
  goodForSeconds: number;
};

/**
 * What came of trying. `why` is one of the words of `whys.ts`: it holds no address and no name, and each has its words
 * on the clinic's pages.
 */
export type Outcome =
  | { outcome: 'sent' }
  /** It was handed over whole, and no one said whether it was taken: it may arrive or not. */
  | { outcome: 'unknown' }
  /** Not now; it is tried again. */
  | { outcome: 'later'; why: string }
  /** Never this message. */
  | { outcome: 'refused'; why: string }
  /** Never anything again: the address is no more. */
  | { outcome: 'gone'; why: string };

/** One way in which messages travel. */
export interface Channel {
  /**
   * Hands a message on. It never throws for what others do; it gives up when the signal says so.
   *
   * @param address as this channel's own schema reads it; one that it cannot read is `gone`
   * @param onHandedOver told, where a channel can tell, that all of the message is at the other end and its answer is
   *   waited for: that may take minutes, and to give up from then on leaves open whether it arrives
   */
  send(address: unknown, message: Message, signal: AbortSignal, onHandedOver?: () => void): Promise<Outcome>;
  close(): Promise<void>;
}
