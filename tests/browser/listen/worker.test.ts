import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { rangeOf } from '../../../src/browser/worker/ranges.js';

describe('byte ranges of a kept sound', () => {
  it('are read as in the examples of RFC 9110, section 14.1.2, for 10000 bytes', () => {
    const of = (header: string) => rangeOf(header, 10_000);
    expect(of('bytes=0-499')).toEqual({ first: 0, last: 499 });
    expect(of('bytes=500-999')).toEqual({ first: 500, last: 999 });
    expect(of('bytes=0-0'), 'one byte').toEqual({ first: 0, last: 0 });
    expect(of('bytes=-500')).toEqual({ first: 9_500, last: 9_999 });
    expect(of('bytes=9500-')).toEqual({ first: 9_500, last: 9_999 });
    // Several ranges may be answered with the whole.
    expect(of('bytes=0-0,-1')).toBeNull();
    expect(of('bytes= 0-999, 4500-5499, -1000')).toBeNull();
  });

  it('are ignored or refused as the RFC has it', () => {
    expect(rangeOf(null, 10)).toBeNull();
    expect(rangeOf('items=0-5', 10)).toBeNull();
    expect(rangeOf('bytes=5-2', 10), 'invalid: the last before the first').toBeNull();
    expect(rangeOf('bytes=-', 10)).toBeNull();
    expect(rangeOf('bytes=10-', 10)).toBe('unsatisfiable');
    expect(rangeOf('bytes=-0', 10)).toBe('unsatisfiable');
    expect(rangeOf('bytes=5-500', 10), 'cut at the end').toEqual({ first: 5, last: 9 });
    expect(rangeOf('bytes=-500', 10), 'longer than the whole').toEqual({ first: 0, last: 9 });
  });

  it('never leave the file', () => {
    const number = fc.oneof(fc.constant(''), fc.nat(20).map(String));
    fc.assert(
      fc.property(number, number, fc.integer({ min: 1, max: 15 }), (first, last, byteLength) => {
        const range = rangeOf(`bytes=${first}-${last}`, byteLength);
        if (range === null || range === 'unsatisfiable') return;
        expect(range.first).toBeGreaterThanOrEqual(0);
        expect(range.first).toBeLessThanOrEqual(range.last);
        expect(range.last).toBeLessThan(byteLength);
      }),
    );
  });
});
