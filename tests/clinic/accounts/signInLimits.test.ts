import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { openSignInLimits, placeKey } from '../../../src/clinic/resources/signInLimits.js';

describe('PERM-9: how often a secret may be tried', () => {
  it('PERM-9: is ten times for an account, in whatever letters it is written, until one was right', async () => {
    const limits = openSignInLimits();
    const tries = async (count: number) => {
      const allowed: boolean[] = [];
      for (let at = 0; at < count; at += 1) {
        const account = at % 2 === 0 ? 'ada@example.org' : 'Ada@Example.org';
        allowed.push(await limits.mayTry(account, `203.0.113.${at}`));
      }
      return allowed;
    };
    expect(await tries(11)).toEqual([...Array.from({ length: 10 }, () => true), false]);
    expect(await limits.mayTry('ben@example.org', '203.0.113.1'), 'another account').toBe(true);
    await limits.forget('ADA@example.org');
    expect(await tries(1)).toEqual([true]);
  });

  it('PERM-9: is forty times from one place, for whatever accounts', async () => {
    const limits = openSignInLimits();
    for (let at = 0; at < 40; at += 1) {
      expect(await limits.mayTry(`somebody-${at}@example.org`, '203.0.113.7')).toBe(true);
    }
    expect(await limits.mayTry('somebody-else@example.org', '203.0.113.7')).toBe(false);
    expect(await limits.mayTry(null, '203.0.113.7'), 'a link').toBe(false);
    expect(await limits.mayTry(null, '203.0.113.8')).toBe(true);
  });

  it('PERM-9: counts a whole /64 of IPv6 as one place (RFC 4291, sections 2.2 and 2.5.4)', () => {
    const group = fc.integer({ min: 0, max: 0xffff });
    fc.assert(
      fc.property(
        fc.array(group, { minLength: 8, maxLength: 8 }),
        fc.array(group, { minLength: 4, maxLength: 4 }),
        (whole, rest) => {
          const written = (groups: readonly number[]) => groups.map((each) => each.toString(16)).join(':');
          const neighbor = [...whole.slice(0, 4), ...rest];
          expect(placeKey(written(neighbor))).toBe(placeKey(written(whole)));
          const elsewhere = [...whole.slice(0, 3), ((whole[3] ?? 0) + 1) % 0x10000, ...rest];
          expect(placeKey(written(elsewhere))).not.toBe(placeKey(written(whole)));
        },
      ),
    );
    expect(placeKey('2001:db8::1')).toBe(placeKey('2001:db8:0:0:ffff::2'));
  });
});
