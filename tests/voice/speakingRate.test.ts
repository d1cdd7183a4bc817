import { afterAll, describe, expect, it } from 'vitest';
import { trimSilence } from '../../src/signal/trim.js';
import { openVoice } from '../../src/voice/openVoice.js';
import { isWhole } from '../long.js';
import { missingFestival, openFestival } from './festival.js';

/** Not the sentences of any calibration; about as many syllables a word as instructions have. */
const sentences = [
  'Let your head be heavy on the pillow, and look straight up.',
  'Tighten the front of your thigh, and hold it lightly.',
  'Slide both arms along the bed, only as far as is easy.',
  'Breathe out slowly, and let your ribs sink.',
  'Rest now, and notice how your back lies on the bed.',
  'Keep your knees together as you roll onto your side.',
  'Draw your shoulder blades gently down towards your feet.',
  'Stop if you feel a sharp pain, and rest.',
  'Lift your hips a little, and lower them slowly again.',
  'Turn your palms up, and let your fingers be soft.',
  'Push your heels into the mattress without holding your breath.',
  'That was the last one for today.',
];

const rates = [120, 135, 150];
const voices = [
  {
    id: 'embedded:slt',
    open: () => openVoice('embedded:slt'),
    rates: isWhole('voices') ? rates : [120, 150],
  },
  { id: 'embedded:rms', open: () => openVoice('embedded:rms'), rates: isWhole('voices') ? rates : [135] },
  // A process for each sentence: one rate is enough to tell a wrong calibration.
  { id: 'festival', open: openFestival, missing: missingFestival, rates: [135] },
];

describe.each(voices)('the speaking rate of $id', async ({ open, missing, rates }) => {
  if (missing !== undefined) return it.skip(`is not measured: ${missing}`);
  const engine = await open();
  afterAll(() => engine.close());

  it.each(rates)('is %i words a minute within a tenth', async (wordsPerMinute) => {
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
  });
});
