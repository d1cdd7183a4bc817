import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { unspeakableCharacters } from '../../src/voice/embedded/asciiText.js';
import { applyNames, applyPronunciations } from '../../src/voice/pronunciations.js';
import { speakableText } from '../../src/voice/speakableText.js';

describe('the pronunciation list', () => {
  it.each([
    ['Supine, then supine.', { supine: 'soo pine' }, 'soo pine, then soo pine.'],
    ['the scapulae and the scapula', { scapula: 'skap you la' }, 'the scapulae and the skap you la'],
    ['Zoë, lift. Zoëlle, rest.', { zoë: 'Zo ee' }, 'Zo ee, lift. Zoëlle, rest.'],
    ['lower back, lower', { lower: 'low er', 'lower back': 'LB' }, 'LB, low er'],
    ['a b', { a: 'b', b: 'a' }, 'b a'],
    ['5 c++ (x)', { 'c++': 'see', '(x)': 'ex' }, '5 see ex'],
    ['costs', { costs: '$& $1' }, '$& $1'],
    ['nothing here', {}, 'nothing here'],
    ['Ana', { ana: 'ah na', Ana: 'an ah' }, 'an ah'],
  ])('turns %j with %j into %j', (text, list, expected) => {
    expect(applyPronunciations(text, list)).toBe(expected);
  });

  it('leaves a text without listed words as it is', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'grapheme' }), (text) => {
        fc.pre(!/quadratus/i.test(text));
        expect(applyPronunciations(text, { quadratus: 'x' })).toBe(text);
      }),
    );
  });
});

describe('speakable text', () => {
  it('is one line without control characters, leading hyphen or doubled bracket, and stays so', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), (text) => {
        const safe = speakableText(text);
        expect(safe).not.toMatch(/[\p{Cc}\p{Cs}]/u);
        expect(safe).not.toMatch(/^[\s-]|\s$|\[\[/);
        expect(speakableText(safe)).toBe(safe);
      }),
    );
  });

  it('keeps ordinary words as they are', () => {
    expect(speakableText('Let go, and rest: well-earned.')).toBe('Let go, and rest: well-earned.');
  });
});

describe('names', () => {
  it('are respelled only where they stand as written', () => {
    expect(applyNames('Hello, May. You may stand, May.', { May: 'Mai' })).toBe(
      'Hello, Mai. You may stand, Mai.',
    );
    expect(applyNames('I will tell you. Well done, Will.', { Will: 'wil' })).toBe(
      'I will tell you. Well done, wil.',
    );
  });
});

describe('letters that the embedded voices do not know', () => {
  it('are named, and accents are not among them', () => {
    expect(unspeakableCharacters('Stop after \u0663 holds, \u043d\u0435 more than 5\u00b2.')).toEqual([
      '\u0663',
      '\u043d',
      '\u0435',
    ]);
    expect(unspeakableCharacters('Jos\u00e9, Zo\u00eb and \u0141ucja')).toEqual([]);
  });
});
