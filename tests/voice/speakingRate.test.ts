import { afterAll, describe, expect, it } from 'vitest';
import { trimSilence } from '../../src/signal/trim.js';
import { openVoice } from '../../src/voice/openVoice.js';
import { missingFestival, openFestival } from './festival.js';

/** Not the sentences of the calibration; about as many syllables a word as instructions have. */
const sentences = [
  'Rest your arms on the bed, and let the backs of your hands grow heavy.',
  'Breathe in through your nose, and feel your lower ribs widen.',
  'Press both upper arms lightly down into the mattress.',
  'Slide your heel slowly along the bed until your leg is straight.',
  'Take your time, and sit on the edge of the bed for a minute.',
];

describe.each([
  { id: 'embedded:slt', open: () => openVoice('embedded:slt') },
  { id: 'embedded:rms', open: () => openVoice('embedded:rms') },
  { id: 'festival', open: openFestival, missing: missingFestival },
])('the speaking rate of $id', async ({ open, missing }) => {
  if (missing !== undefined) return it.skip(`is not measured: ${missing}`);
  const engine = await open();
  afterAll(() => engine.close());

  it.each([120, 135, 150])(
    'is %i words a minute within a tenth',
    { timeout: 60_000 },
    async (wordsPerMinute) => {
      let words = 0;
      let seconds = 0;
      for (const text of sentences) {
        const { samples, sampleRateHz } = await engine.synthesise({ text, wordsPerMinute });
        words += text.split(' ').length;
        seconds += trimSilence(samples, sampleRateHz, 0).length / sampleRateHz;
      }
      const measured = (60 * words) / seconds;
      expect(measured).toBeGreaterThan(0.9 * wordsPerMinute);
      expect(measured).toBeLessThan(1.1 * wordsPerMinute);
    },
  );
});
