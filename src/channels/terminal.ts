import { z } from 'zod';
import type { Channel } from './channel.js';
import { gone, later, sent } from './outcomes.js';
import { plainText } from './plainText.js';

/** Who a message would be for, in a few words. */
export const terminalAddressSchema = z.string().trim().min(1).max(100);

/** Prints messages, for trying out. @param write receives one whole message at a time */
export function openTerminal(write: (text: string) => void): Channel {
  return {
    send: async (unknownAddress, message, signal) => {
      const address = terminalAddressSchema.safeParse(unknownAddress);
      if (!address.success) return gone('address-unreadable');
      if (signal.aborted) return later('interrupted');
      try {
        write(withoutControls(`${address.data}: ${message.subject}\n\n${plainText(message)}\n`));
        return sent;
      } catch {
        return later('terminal-closed');
      }
    },
    close: async () => {},
  };
}

/** Removes control characters, because names that someone typed must not move the cursor or change the colors. */
function withoutControls(text: string): string {
  return text.replace(/(?!\n)\p{Cc}/gu, '');
}
