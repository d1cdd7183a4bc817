import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Channel } from '../../src/channels/channel.js';
import { type ChannelFailureReason, channelFailureReasons } from '../../src/channels/outcomes.js';
import { goOn, sampleMessage } from './sample.js';

/** What the other end of a channel may do. */
export type Behaviour = 'take' | 'later' | 'refuse' | 'gone' | 'drop' | 'hold';

/** A channel and a real other end, both on this machine. */
export type Rig = {
  channel: Channel;
  address: unknown;
  behave(behaviour: Behaviour): void;
  /** The keys of what has arrived, or what stands for them. */
  received(): readonly string[];
  /** Resolves when something is held back. */
  held(): Promise<void>;
  release(): void;
  /** Resolves when no connection is left. */
  disconnected(): Promise<void>;
  stop(): Promise<void>;
};

export type ChannelCase = {
  name: string;
  open(deadlineMs: number): Promise<Rig>;
  /** A channel whose other end is not there. */
  openWithoutOther(): Promise<{ channel: Channel; address: unknown }>;
  unreadable: readonly unknown[];
  /** Whether what the other end holds back has been handed over whole by then. */
  isHeldWhole: boolean;
  reasons: Record<'later' | 'refuse' | 'gone' | 'unreachable', ChannelFailureReason>;
};

const long = 20_000;

/** What every channel that crosses a network must do. */
export function describeChannelContract({
  name,
  open,
  openWithoutOther,
  unreadable,
  reasons,
  isHeldWhole,
}: ChannelCase): void {
  describe(`the contract of channels: ${name}`, () => {
    let rig: Rig;
    beforeEach(async () => {
      rig = await open(long);
    });
    afterEach(async () => {
      rig.release();
      await rig.channel.close();
      await rig.stop();
    });
    const send = (message = sampleMessage(), signal = goOn) => rig.channel.send(rig.address, message, signal);

    it('hands a message on', async () => {
      expect(await send()).toEqual({ outcome: 'sent' });
      expect(rig.received()).toHaveLength(1);
    });

    it('marks a message that is sent again as the same, and another as another', async () => {
      const message = sampleMessage();
      await send(message);
      await send(message);
      await send();
      const [first, again, other] = rig.received();
      expect(again).toBe(first);
      expect(other).not.toBe(first);
    });

    it('hands many on at once, each once', async () => {
      const messages = Array.from({ length: 40 }, () => sampleMessage());
      const outcomes = await Promise.all(messages.map((message) => send(message)));
      expect(outcomes).toEqual(messages.map(() => ({ outcome: 'sent' })));
      expect(new Set(rig.received()).size).toBe(40);
      expect(rig.received()).toHaveLength(40);
    });

    it.each([
      ['later', 'later'],
      ['refuse', 'refused'],
      ['gone', 'gone'],
    ] as const)('tells when the other end says: %s', async (behaviour, outcome) => {
      rig.behave(behaviour);
      expect(await send()).toEqual({ outcome, why: reasons[behaviour] });
      rig.behave('take');
      expect(await send()).toEqual({ outcome: 'sent' });
    });

    it('tries later what broke off', async () => {
      rig.behave('drop');
      expect(await send()).toEqual({ outcome: 'later', why: reasons.unreachable });
      rig.behave('take');
      expect(await send()).toEqual({ outcome: 'sent' });
    });

    it('tries later when nobody is there', async () => {
      const { channel, address } = await openWithoutOther();
      expect(await channel.send(address, sampleMessage(), goOn)).toEqual({
        outcome: 'later',
        why: reasons.unreachable,
      });
      await channel.close();
    });

    it('does not wait for ever', async () => {
      const impatient = await open(300);
      impatient.behave('hold');
      const startedAtMs = performance.now();
      expect(await impatient.channel.send(impatient.address, sampleMessage(), goOn)).toEqual(
        isHeldWhole ? { outcome: 'unknown' } : { outcome: 'later', why: reasons.unreachable },
      );
      expect(performance.now() - startedAtMs).toBeLessThan(5_000);
      await impatient.channel.close();
      await impatient.stop();
    });

    it('gives up when it is told to', async () => {
      rig.behave('hold');
      const giveUp = new AbortController();
      const outcome = send(sampleMessage(), giveUp.signal);
      await rig.held();
      giveUp.abort();
      expect(await outcome).toEqual(
        isHeldWhole ? { outcome: 'unknown' } : { outcome: 'later', why: 'interrupted' },
      );
      expect(rig.received()).toEqual([]);
    });

    it('says that it was handed over, before it is answered', async () => {
      if (!isHeldWhole) return;
      rig.behave('hold');
      const order: string[] = [];
      const outcome = rig.channel
        .send(rig.address, sampleMessage(), goOn, () => order.push('handed over'))
        .finally(() => order.push('answered'));
      await rig.held();
      expect(order).toEqual(['handed over']);
      rig.release();
      expect(await outcome).toEqual({ outcome: 'sent' });
    });

    it('does not begin when it has been told to give up', async () => {
      expect(await send(sampleMessage(), AbortSignal.abort())).toEqual({
        outcome: 'later',
        why: 'interrupted',
      });
      expect(rig.received()).toEqual([]);
    });

    it.each([...unreadable, undefined, null, '', 7, {}, [], { to: 7 }])(
      'ends an address that it cannot read: %j',
      async (address) => {
        expect(await rig.channel.send(address, sampleMessage(), goOn)).toEqual({
          outcome: 'gone',
          why: 'address-unreadable',
        });
        expect(rig.received()).toEqual([]);
      },
    );

    it('lets what is under way end before it closes, and leaves no connection', async () => {
      await send();
      rig.behave('hold');
      const order: string[] = [];
      const outcome = send().finally(() => order.push('sent'));
      await rig.held();
      const closed = rig.channel.close().finally(() => order.push('closed'));
      rig.release();
      expect(await outcome).toEqual({ outcome: 'sent' });
      await closed;
      expect(order).toEqual(['sent', 'closed']);
      await rig.disconnected();
      expect(rig.received()).toHaveLength(2);
    });

    it('names only reasons that the pages have words for', () => {
      for (const why of Object.values(reasons)) expect(channelFailureReasons).toContain(why);
    });
  });
}
