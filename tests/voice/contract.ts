import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { StillcountError } from '../../src/errors/stillcountError.js';
import type { VoiceEngine } from '../../src/voice/voice.js';
import { isWhole } from '../long.js';

export type ContractCase = {
  name: string;
  open: () => Promise<VoiceEngine>;
  /** Why this machine cannot run it; undefined when it can. */
  missing?: string | undefined;
  /** False for a stand-in whose sound does not depend on the rate. */
  obeysRate?: boolean;
};

const sentence = 'Let your shoulders grow heavy, and let the breath come and go.';

/** What a program that is called could take for something other than words. */
const oddTexts: readonly [string, string][] = [
  ['a leading hyphen', '--help'],
  ['an option with a value', '-o /tmp/elsewhere.wav'],
  ['shell characters', '$(exit 9); `exit 9` & rest | "quoted" \'single\' > nowhere'],
  ['percent and braces', '100 % {out} {nothing} %s %PATH%'],
  ['markup', 'Rest <break time="1s"/> &amp; [[rate 900]] breathe.'],
  ['accents and typographic marks', 'Zoë — let’s “rest” for ½ a minute…'],
  ['direction and joining marks', 'rest\u200B \u202Eevil\u202C re\u00ADlease'],
  ['half a character', 'rest \uD83D now'],
  ['a line break', 'rest\nnow\tplease'],
];
/** The same at one go: each call of some voices takes half a second. */
const allOddTexts: readonly [string, string][] = [
  ['all that is odd', oddTexts.map(([, text]) => text).join(' ')],
];

/** What every engine must do, whatever it is made of. */
export function describeVoiceContract({ name, open, missing, obeysRate = true }: ContractCase): void {
  const title = missing === undefined ? name : `${name} (skipped: ${missing})`;
  describe.skipIf(missing !== undefined)(`the contract of voices: ${title}`, () => {
    let engine: VoiceEngine;
    beforeAll(async () => {
      engine = await open();
    });
    afterAll(() => engine.close());

    const say = (text: string, wordsPerMinute = 135) => engine.synthesise({ text, wordsPerMinute });

    it('has an identity and takes at least one request', () => {
      expect(engine.id).not.toBe('');
      expect(engine.fingerprint.length).toBeGreaterThan(5);
      expect(engine.parallel).toBeGreaterThanOrEqual(1);
    });

    it('gives mono sound within full scale, of a plausible length', async () => {
      const speech = await say(sentence);
      expect(speech.sampleRateHz).toBeGreaterThanOrEqual(8000);
      const peak = speech.samples.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
      expect(peak).toBeGreaterThan(0.01);
      expect(peak).toBeLessThanOrEqual(1);
      expect(speech.samples.length / speech.sampleRateHz).toBeGreaterThan(0.2);
      expect(speech.samples.length / speech.sampleRateHz).toBeLessThan(20);
    });

    it('gives the same samples for the same request, alone or among others', async () => {
      const alone = await say(sentence);
      const among = await Promise.all([say('five'), say(sentence), say('four'), say(sentence), say('three')]);
      expect(Buffer.from(among[1]?.samples.buffer ?? []).equals(Buffer.from(alone.samples.buffer))).toBe(
        true,
      );
      expect(Buffer.from(among[3]?.samples.buffer ?? []).equals(Buffer.from(alone.samples.buffer))).toBe(
        true,
      );
    });

    it.skipIf(!obeysRate)('speaks slower when asked to', async () => {
      const [slow, quick] = await Promise.all([say(sentence, 90), say(sentence, 170)]);
      expect(slow.samples.length).toBeGreaterThan(1.25 * quick.samples.length);
    });

    it.each(isWhole('voices') ? oddTexts : allOddTexts)('speaks text with %s', async (_, text) => {
      const speech = await say(text);
      expect(speech.samples.length).toBeGreaterThan(0.1 * speech.sampleRateHz);
    });

    it.each(['-', ' — ', '\u200B', '[[]]'])('refuses %j, in which nothing can be spoken', async (text) => {
      const error = await say(text).catch((thrown: unknown) => thrown);
      expect(error).toBeInstanceOf(StillcountError);
      expect(error).toMatchObject({ kind: 'work' });
    });

    it('speaks a very long text to its end', async () => {
      const once = await say(sentence);
      const often = await say(Array.from({ length: 12 }, () => sentence).join(' '));
      if (obeysRate) expect(often.samples.length).toBeGreaterThan(8 * once.samples.length);
      expect(often.samples.length).toBeGreaterThanOrEqual(once.samples.length);
    });

    it('still works after a refusal', async () => {
      await say('-').catch(() => undefined);
      expect((await say('five')).samples.length).toBeGreaterThan(0);
    });
  });
}
