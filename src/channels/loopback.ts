import { BlockList, isIP } from 'node:net';

const loopback = new BlockList();
loopback.addSubnet('127.0.0.0', 8, 'ipv4');
loopback.addAddress('::1', 'ipv6');

/** Returns whether a URL's host is this machine itself, so that nothing sent there crosses a network. */
export function isLoopback(hostname: string): boolean {
  const host = hostname.replace(/^\[(.*)\]$/, '$1');
  const family = isIP(host);
  if (family === 0) return host === 'localhost' || host.endsWith('.localhost');
  return loopback.check(host, family === 4 ? 'ipv4' : 'ipv6');
}
