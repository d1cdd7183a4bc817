import { describe, expect, it } from 'vitest';
import { openTerminal } from '../../src/channels/terminal.js';
import { goOn, sampleMessage } from './sample.js';

describe('the terminal', () => {
  it('prints a message plainly', async () => {
    const printed: string[] = [];
    const channel = openTerminal((text) => printed.push(text));
    expect(await channel.send('Elfriede', sampleMessage(), goOn)).toEqual({ outcome: 'sent' });
    expect(printed).toEqual([
      `Elfriede: It is time for your exercises

Good morning, Elfriede.

Your session is ready: 15 minutes, lying down.
Take all the time you need.

Begin now:
https://clinic.example/l/abc123/

-- 
Stop these messages:
https://clinic.example/u/def456

`,
    ]);
    await channel.close();
  });

  it('prints no more than the words when there is nothing to open or to end', async () => {
    const printed: string[] = [];
    const message = sampleMessage({ link: null, unsubscribe: null, text: 'One line.\n' });
    await openTerminal((text) => printed.push(text)).send('Elfriede', message, goOn);
    expect(printed).toEqual(['Elfriede: It is time for your exercises\n\nOne line.\n\n']);
  });

  it('lets no name move the cursor', async () => {
    const printed: string[] = [];
    await openTerminal((text) => printed.push(text)).send('A\u001b[2J\r\u0007B', sampleMessage(), goOn);
    expect(printed.join('')).toMatch(/^A\[2JB: It is time/);
  });

  it.each([undefined, null, '', '  ', 7, {}, 'a'.repeat(101)])(
    'ends an address that it cannot read: %j',
    async (address) => {
      const printed: string[] = [];
      const channel = openTerminal((text) => printed.push(text));
      expect(await channel.send(address, sampleMessage(), goOn)).toEqual({
        outcome: 'gone',
        why: 'address-unreadable',
      });
      expect(printed).toEqual([]);
    },
  );

  it('tries later when it is closed, and prints nothing when told to give up', async () => {
    const closed = openTerminal(() => {
      throw new Error('EPIPE');
    });
    expect(await closed.send('Elfriede', sampleMessage(), goOn)).toEqual({
      outcome: 'later',
      why: 'terminal-closed',
    });
    const printed: string[] = [];
    const open = openTerminal((text) => printed.push(text));
    expect(await open.send('Elfriede', sampleMessage(), AbortSignal.abort())).toEqual({
      outcome: 'later',
      why: 'interrupted',
    });
    expect(printed).toEqual([]);
  });
});
