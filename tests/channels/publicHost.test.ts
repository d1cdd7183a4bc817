import { createServer } from 'node:net';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Poster, usualPostTimes } from '../../src/channels/post.js';
import { isPublicAddress, isPublicHost, lookupPublic } from '../../src/channels/publicHost.js';
import { listening } from './openSockets.js';
import { goOn } from './sample.js';

const octet = fc.integer({ min: 0, max: 255 });

describe('an address', () => {
  // IANA's registries of special-purpose addresses and the RFCs named, from memory.
  it.each([
    ['10.0.0.1', 'private, RFC 1918'],
    ['172.16.0.1', 'private, RFC 1918'],
    ['172.31.255.255', 'private, RFC 1918'],
    ['192.168.0.1', 'private, RFC 1918'],
    ['127.0.0.1', 'this machine, RFC 1122'],
    ['0.0.0.0', 'this network, RFC 791'],
    ['169.254.169.254', 'one link, RFC 3927'],
    ['100.64.0.1', 'shared by carriers, RFC 6598'],
    ['198.18.0.1', 'measurements, RFC 2544'],
    ['192.0.2.1', 'documentation, RFC 5737'],
    ['224.0.0.1', 'many receivers, RFC 5771'],
    ['255.255.255.255', 'everybody, RFC 919'],
    ['::', 'none, RFC 4291'],
    ['::1', 'this machine, RFC 4291'],
    ['fe80::1', 'one link, RFC 4291'],
    ['fd12:3456::1', 'private, RFC 4193'],
    ['ff02::1', 'many receivers, RFC 4291'],
    ['2001:db8::1', 'documentation, RFC 3849'],
    ['::ffff:10.0.0.1', 'IPv4 within IPv6, RFC 4291'],
    ['64:ff9b::a00:1', 'IPv4 behind a translator, RFC 6052'],
    ['2002:a00:1::', 'IPv4 in a tunnel, RFC 3056'],
    ['2001::1', 'a tunnel, RFC 4380'],
    ['not an address', 'none'],
    ['', 'none'],
  ])('%s is not public: %s', (address) => {
    expect(isPublicAddress(address)).toBe(false);
  });

  it.each([
    '1.1.1.1',
    '172.15.255.255',
    '172.32.0.0',
    '100.128.0.0',
    '223.255.255.255',
    '2606:4700::1',
    '2a00:1450::1',
  ])('%s is public', (address) => {
    expect(isPublicAddress(address)).toBe(true);
  });

  it('within IPv6 is never public, whichever IPv4 address it is', () => {
    fc.assert(
      fc.property(fc.tuple(octet, octet, octet, octet), (octets) => {
        const address = octets.join('.');
        expect(isPublicAddress(`::ffff:${address}`)).toBe(false);
        expect(isPublicHost(new URL(`https://[::ffff:${address}]/`).hostname)).toBe(false);
        expect(isPublicHost(address)).toBe(isPublicAddress(address));
      }),
    );
  });
});

describe('a name', () => {
  it.each(['push.example', 'push.example.', 'xn--bcher-kva.example', 'a.b'])(
    '%s may be looked up',
    (name) => {
      expect(isPublicHost(name)).toBe(true);
    },
  );

  it.each([
    'localhost',
    'a.localhost',
    'printer.local',
    'PRINTER.LOCAL.',
    'db.internal',
    'nas.home.arpa',
    'router',
    '1.2',
    '',
  ])('%s may not', (name) => {
    expect(isPublicHost(name)).toBe(false);
  });

  it('that leads to this machine is refused when the connection is made, before a byte is sent', async () => {
    let connections = 0;
    const server = createServer((socket) => {
      connections += 1;
      socket.resume();
    });
    const port = await listening(server);
    const poster = new Poster({ ...usualPostTimes, handingMs: 5_000, lookup: lookupPublic });
    // The system's own name for this machine stands for a name of somebody's that points here.
    const url = new URL(`http://localhost:${port}/`);
    expect(await poster.post(url, { headers: {}, body: Buffer.from('words') }, goOn)).toEqual({
      kind: 'closed',
    });
    expect(connections).toBe(0);
    const trusting = new Poster({ ...usualPostTimes, answerMs: 200 });
    expect(await trusting.post(url, { headers: {}, body: Buffer.from('words') }, goOn)).toEqual({
      kind: 'unanswered',
    });
    expect(connections).toBe(1);
    await Promise.all([poster.close(), trusting.close()]);
    await new Promise((resolve) => server.close(resolve));
  });
});
