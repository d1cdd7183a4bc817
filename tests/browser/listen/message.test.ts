import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { addressWithin, messageOf } from '../../../src/browser/worker/message.js';
import type { PushPayload } from '../../../src/channels/push.js';

const page = 'https://clinic.example/l/token/';

describe('a push message', () => {
  it('is read as the service sends it', () => {
    const sent: PushPayload = { title: 'Now', body: 'It is time.', address: page, tag: 'a', isUrgent: true };
    const { isUrgent: _, ...shown } = sent;
    expect(messageOf(JSON.stringify(sent))).toEqual(shown);
    expect(messageOf(JSON.stringify({ ...sent, address: null }))).toEqual({ ...shown, address: null });
    for (const wrong of [{ title: '' }, { title: 1 }, { body: undefined }, { tag: null }, { address: 7 }])
      expect(messageOf(JSON.stringify({ ...sent, ...wrong })), JSON.stringify(wrong)).toBeNull();
  });

  it('that is anything else is none, and never a fault', () => {
    fc.assert(
      fc.property(fc.oneof(fc.string(), fc.json()), (text) => {
        const message = messageOf(text);
        if (message !== null) expect(typeof message.title).toBe('string');
      }),
    );
    expect(messageOf('')).toBeNull();
    expect(messageOf('null')).toBeNull();
  });
});

describe('what a message opens', () => {
  it('is its address where that belongs to the page, else the page', () => {
    expect(addressWithin(page, `${page}#now`)).toBe(`${page}#now`);
    const outside = [
      'https://clinic.example/l/token',
      `${page}../other/`,
      'https://clinic.example.evil.example/l/token/',
      'javascript:alert(1)',
      '//evil.example/',
      null,
    ];
    for (const address of outside) expect(addressWithin(page, address), String(address)).toBe(page);
  });

  it('never leaves the page', () => {
    fc.assert(
      fc.property(fc.oneof(fc.webUrl(), fc.string(), fc.integer()), (address) => {
        expect(addressWithin(page, address).startsWith(page)).toBe(true);
      }),
    );
  });
});
