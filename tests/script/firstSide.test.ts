import { beforeAll, describe, expect, it } from 'vitest';
import type { Catalogue } from '../../src/catalogue/catalogue.js';
import { readProgram } from '../../src/program/readProgram.js';
import { buildScript } from '../../src/script/buildScript.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { voiceOf } from './arbitraries.js';

/** The set-up of a one-sided exercise names the side that is done first, so that the towel lies where it is needed. */

let catalogues: ReadonlyMap<string, Catalogue>;
const voice = voiceOf(3, { min: 300, max: 340 });

/** A towel under a knee, a foot into the loop of the strap. */
const placing = /\byour (left|right) (?:knee|foot (?:up )?into the loop)\b/;

beforeAll(async () => {
  catalogues = await readCatalogues('audio-templates');
});

describe('the side named in a set-up', () => {
  it.each([
    ['both', 'left'],
    ['alternate', 'left'],
    ['left', 'left'],
    ['right', 'right'],
  ])('of %s is %s, in the first session and in later ones', async (side, named) => {
    for (const exercise of ['knee-straightening', 'hamstring-stretch']) {
      for (const number of [1, 2, 3]) {
        const text = `format: stillcount-program/1\ntitle: Test\nsession: { number: ${number} }\nexercises: [{ exercise: ${exercise}, side: ${side} }]\n`;
        const { cues } = await buildScript(readProgram(text, 'test.yaml', catalogues), voice);
        const placed = cues.find((cue) => cue.exercise === exercise && placing.test(cue.text ?? ''));
        expect(placing.exec(placed?.text ?? '')?.[1]).toBe(named);
        expect(cues.some((cue) => /\bone (knee|leg|foot)\b/.test(cue.text ?? ''))).toBe(false);
      }
    }
  });
});
