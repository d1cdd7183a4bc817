import type { Channel, ChannelName } from './channel.js';
import { openMail } from './mail.js';
import { openPush, type VapidKeys } from './push.js';
import { openTerminal } from './terminal.js';
import { openText } from './text.js';

export type ChannelOptions = {
  vapidKeys: VapidKeys;
  /** How push services can contact the operator: `mailto:` or `https:`. */
  pushContact: string;
  /** Prints messages for the terminal; null for a service, which prints none. */
  print: ((text: string) => void) | null;
  /** The clock, epoch milliseconds. */
  now: () => number;
};

type Opener = (environment: NodeJS.ProcessEnv, options: ChannelOptions) => Promise<Channel | null>;

/** Every channel has its line; null means that it is not set up. */
const openers: Readonly<Record<ChannelName, Opener>> = {
  mail: (environment) => openMail(environment),
  push: async (_environment, { vapidKeys, pushContact }) =>
    openPush({ keys: vapidKeys, contact: pushContact }),
  text: async (environment, { now }) => openText(environment, now),
  terminal: async (_environment, { print }) => (print === null ? null : openTerminal(print)),
};

/**
 * Opens the channels that are configured in the process environment: STILLCOUNT_MAIL_URL with STILLCOUNT_MAIL_FROM,
 * STILLCOUNT_TEXT_URL with STILLCOUNT_TEXT_SECRET. Web push needs no settings.
 *
 * @throws StillcountError kind `input` naming an unusable setting and the allowed values, never its value
 */
export async function openChannels(
  environment: NodeJS.ProcessEnv,
  options: ChannelOptions,
): Promise<ReadonlyMap<ChannelName, Channel>> {
  const opened = new Map<ChannelName, Channel>();
  for (const [name, open] of Object.entries(openers) as [ChannelName, Opener][]) {
    const channel = await open(environment, options);
    if (channel !== null) opened.set(name, channel);
  }
  return opened;
}
