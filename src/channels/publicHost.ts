import { lookup } from 'node:dns';
import { BlockList, isIP, type LookupFunction } from 'node:net';

/**
 * Networks that nobody outside may make us connect to (IANA's registries of special-purpose addresses, RFC 6890 and its
 * updates): this machine, private, link-local, test and multicast networks, and forms of IPv6 that contain an IPv4
 * address. From memory of the registries.
 */
const closedNetworks: readonly [address: string, prefix: number, family: 'ipv4' | 'ipv6'][] = [
  ['0.0.0.0', 8, 'ipv4'],
  ['10.0.0.0', 8, 'ipv4'],
  ['100.64.0.0', 10, 'ipv4'],
  ['127.0.0.0', 8, 'ipv4'],
  ['169.254.0.0', 16, 'ipv4'],
  ['172.16.0.0', 12, 'ipv4'],
  ['192.0.0.0', 24, 'ipv4'],
  ['192.0.2.0', 24, 'ipv4'],
  ['192.88.99.0', 24, 'ipv4'],
  ['192.168.0.0', 16, 'ipv4'],
  ['198.18.0.0', 15, 'ipv4'],
  ['198.51.100.0', 24, 'ipv4'],
  ['203.0.113.0', 24, 'ipv4'],
  ['224.0.0.0', 3, 'ipv4'],
  ['2001::', 23, 'ipv6'],
  ['2001:db8::', 32, 'ipv6'],
  ['2002::', 16, 'ipv6'],
  ['3fff::', 20, 'ipv6'],
];

const closed = new BlockList();
for (const [address, prefix, family] of closedNetworks) closed.addSubnet(address, prefix, family);
/**
 * Only these are assigned to machines on the public network; loopback, link-local, private and mapped addresses are
 * not.
 */
const globalUnicast = new BlockList();
globalUnicast.addSubnet('2000::', 3, 'ipv6');

/** Returns whether an IP address belongs to a publicly reachable machine. */
export function isPublicAddress(address: string): boolean {
  const family = isIP(address);
  if (family === 4) return !closed.check(address, 'ipv4');
  return family === 6 && globalUnicast.check(address, 'ipv6') && !closed.check(address, 'ipv6');
}

/** Returns whether a URL's host may be looked up: a public address, or a name that is not a machine of ours. */
export function isPublicHost(hostname: string): boolean {
  const host = hostname.replace(/^\[(.*)\]$/, '$1').toLowerCase();
  if (isIP(host) !== 0) return isPublicAddress(host);
  // A name without a dot is local. RFC 6761, 6762 and 8375 reserve these endings for local networks.
  return (
    /\.[a-z0-9-]*[a-z][a-z0-9-]*\.?$/.test(host) && !/\.(localhost|local|internal|home\.arpa)\.?$/.test(host)
  );
}

/** A name that resolves into a closed network. */
export class ClosedNetworkError extends Error {}

/**
 * Looks up a name and refuses it if any of its addresses is not public. It runs when a connection is made, so that no
 * later DNS response can lead elsewhere.
 */
export const lookupPublic: LookupFunction = (hostname, options, callback) => {
  lookup(hostname, { ...options, all: true }, (error, addresses) => {
    const [first] = addresses ?? [];
    if (error !== null || first === undefined) {
      callback(error ?? new Error('this name has no address'), '', 0);
    } else if (!addresses.every(({ address }) => isPublicAddress(address))) {
      callback(new ClosedNetworkError('this name leads into a closed network'), '', 0);
    } else if (options.all === true) {
      callback(null, addresses);
    } else {
      callback(null, first.address, first.family);
    }
  });
};
