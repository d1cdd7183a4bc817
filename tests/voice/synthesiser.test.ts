import { describe, expect, it } from 'vitest';
import { type FliteResult, loadFlite, runAgain } from '../../src/voice/embedded/synthesiser.js';
import { isWhole } from '../long.js';

const phrases = [
  'one',
  'Press your head straight back into the bed, and keep your chin level.',
  '',
  'Now let your arms rest open, a little away from your sides, with the palms up. '.repeat(4),
  'seven',
  'And press.',
];

describe('one instance of the embedded voice', () => {
  it.each(isWhole('voices') ? ['slt', 'rms'] : ['slt'])(
    'says each phrase in %s as a new one would, whatever it has said before',
    async (voice) => {
      const used = await loadFlite();
      const fresh = new Map<string, FliteResult>();
      // Twice, so that each has every other one before it; once slower, so that lengths differ too.
      for (const durationStretch of [1, 1.25, 1]) {
        for (const text of phrases) {
          const request = { voice, durationStretch, text };
          const name = JSON.stringify(request);
          const { message, wave } = fresh.get(name) ?? (await (await loadFlite())(request));
          fresh.set(name, { message, wave });
          const again = await used(request);
          expect(again.message).toBe(message);
          expect(again.wave === null ? null : Buffer.from(again.wave).equals(Buffer.from(wave ?? []))).toBe(
            wave === null ? null : true,
          );
        }
      }
    },
  );

  it('is not used again once it has left by an exit', async () => {
    // Counts its runs in a variable that no memory holds, and exits with that number (WebAssembly 1.0, section 5.5).
    const counting = Buffer.from(
      [
        '0061736d01000000',
        '0108' + '02' + '60017f00' + '600000',
        `0224${'01'}16${Buffer.from('wasi_snapshot_preview1').toString('hex')}09${Buffer.from('proc_exit').toString('hex')}0000`,
        '0302' + '0101',
        '0503' + '010001',
        '0606' + '017f0141000b',
        `0713${'02'}06${Buffer.from('memory').toString('hex')}020006${Buffer.from('_start').toString('hex')}0001`,
        '0a0f' + '010d' + '00' + '230041016a2400' + '23001000' + '0b',
      ].join(''),
      'hex',
    );
    const count = await runAgain(counting);
    const request = { voice: 'slt', durationStretch: 1, text: 'one' };
    expect([await count(request), await count(request)]).toEqual([
      { wave: null, message: 'exit code 1' },
      { wave: null, message: 'exit code 1' },
    ]);
  });
});
