import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { onPaper } from '../../src/documents/figures/palette.js';

const read = (name: string) => readFile(join('src', 'browser', name), 'utf8');
const styleSheet = await read('figure.css');

/** What a style sheet sets by day, or by night where it sets it anew. */
function propertiesOf(css: string, isNight: boolean): Record<string, string> {
  const [day = '', night = ''] = css.split(/@media (?:screen and )?\(prefers-color-scheme: dark\) \{/);
  const rules = [day, ...(isNight ? [night.split(/^\}/m)[0] ?? ''] : [])].join('');
  return Object.fromEntries(
    [...rules.matchAll(/--([\w-]+): (#[\da-f]{6});/g)].map(([, key, value]) => [key, value]),
  );
}

/** The inks of the style sheet on the sheet of a page. */
async function inksOn(page: string, isNight: boolean): Promise<Record<string, string>> {
  const set = propertiesOf(styleSheet, isNight);
  const paper = propertiesOf(await read(page), isNight).sheet ?? '';
  const inks = Object.entries(set).map(([key, value]) => [key.replace('figure-', ''), value]);
  return { ...Object.fromEntries(inks), paper };
}

type Rgb = readonly [number, number, number];

function linear(color: string): Rgb {
  const channel = (start: number) => {
    const value = Number.parseInt(color.slice(start, start + 2), 16) / 255;
    return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  };
  return [channel(1), channel(3), channel(5)];
}

/** Relative luminance and contrast ratio as WCAG 2.2 defines them. */
const luminance = ([red, green, blue]: Rgb) => 0.2126 * red + 0.7152 * green + 0.0722 * blue;
function contrast(a: Rgb, b: Rgb): number {
  const [dim = 0, bright = 0] = [luminance(a), luminance(b)].sort((x, y) => x - y);
  return (bright + 0.05) / (dim + 0.05);
}

/** What is painted on what: by itself, by its edge, or by the gap of paper around it. */
const seen: [string, string, readonly string[]][] = [
  ['near limbs', 'near', ['paper', 'bed', 'prop']],
  ['trunk', 'trunk', ['paper', 'bed']],
  ['head and hands', 'skin', ['paper', 'bed']],
  ['edges of far limbs, hair, props and the bed', 'edge', ['paper', 'bed']],
  ['what is held', 'held', ['paper', 'bed']],
  ['the floor', 'floor', ['paper']],
  ['marks', 'mark', ['paper', 'bed']],
];

const ways = (['workbench/style.css', 'listen/listen.css'] as const).flatMap((page) =>
  [false, true].map((isNight) => ({ page, isNight, name: `${page} by ${isNight ? 'night' : 'day'}` })),
);

describe('the colors of figures', () => {
  // WCAG 2.2, success criterion 1.4.11: 3:1 for what is needed to understand a graphic.
  it.each(ways)('have a contrast of 3:1 with what they lie on: $name', async ({ page, isNight }) => {
    const inks = await inksOn(page, isNight);
    for (const [name, ink, grounds] of seen) {
      for (const ground of grounds) {
        const ratio = contrast(linear(inks[ink] ?? ''), linear(inks[ground] ?? ''));
        expect(ratio, `${name} on ${ground}`).toBeGreaterThanOrEqual(3);
      }
    }
  });

  // Machado, Oliveira and Fernandes 2009, IEEE Trans Vis Comput Graph 15:1291, severity 1.0, in linear RGB.
  const visions: Record<string, readonly Rgb[]> = {
    protanopia: [
      [0.152286, 1.052583, -0.204868],
      [0.114503, 0.786281, 0.099216],
      [-0.003882, -0.048116, 1.051998],
    ],
    deuteranopia: [
      [0.367322, 0.860646, -0.227968],
      [0.280085, 0.672501, 0.047413],
      [-0.01182, 0.04294, 0.968881],
    ],
    tritanopia: [
      [1.255528, -0.076749, -0.178779],
      [-0.078411, 0.930809, 0.147602],
      [0.004733, 0.691367, 0.3039],
    ],
    'no color at all': [
      [0.2126, 0.7152, 0.0722],
      [0.2126, 0.7152, 0.0722],
      [0.2126, 0.7152, 0.0722],
    ],
  };
  const hex = (value: number) =>
    Math.round(255 * value)
      .toString(16)
      .padStart(2, '0');
  const bounded = (value: number) => Math.min(1, Math.max(0, value));
  function asSeen(matrix: readonly Rgb[], [red, green, blue]: Rgb): Rgb {
    const [r, g, b] = matrix.map((row) => bounded(row[0] * red + row[1] * green + row[2] * blue));
    return [r ?? 0, g ?? 0, b ?? 0];
  }

  it.each(ways)('are told apart whatever colors are seen: $name', async ({ page, isNight }) => {
    const inks = await inksOn(page, isNight);
    for (const [vision, matrix] of Object.entries(visions)) {
      for (const row of matrix) expect(row[0] + row[1] + row[2], 'white stays white').toBeCloseTo(1, 4);
      const of = (ink: string) => asSeen(matrix, linear(inks[ink] ?? ''));
      const between = (a: string, b: string) => contrast(of(a), of(b));
      // A mark on a limb is also parted from it by a gap of paper, and has a shape that no limb has.
      for (const ground of ['paper', 'bed'])
        expect(between('mark', ground), `${vision}: a mark on ${ground}`).toBeGreaterThanOrEqual(3);
      // No published threshold: less than the 3:1 above, for lightness alone, which is not all that tells them apart.
      expect(between('mark', 'near'), `${vision}: a mark on a near limb`).toBeGreaterThanOrEqual(1.25);
      expect(between('mark', 'far'), `${vision}: a mark on a far limb`).toBeGreaterThanOrEqual(1.5);
      expect(between('near', 'far'), `${vision}: near and far`).toBeGreaterThanOrEqual(3);
    }
  });

  it('are the same in files as on pages', async () => {
    const { paper: _, ...inks } = await inksOn('workbench/style.css', false);
    expect(inks).toEqual(inksOf(onPaper));
  });

  // W3C Filter Effects Module Level 1: invert(1), then hue-rotate(180deg), whose matrix it gives; both in sRGB.
  it('of a file keep their contrast on a dark page, where light and dark change places', async () => {
    expect(styleSheet).toMatch(/\.figure-picture \{\s+filter: invert\(1\) hue-rotate\(180deg\);/);
    const turned = (color: string) => {
      const [r, g, b] = [1, 3, 5].map((at) => 1 - Number.parseInt(color.slice(at, at + 2), 16) / 255);
      const rows = [
        [-0.574, 1.43, 0.144],
        [0.426, 0.43, 0.144],
        [0.426, 1.43, -0.856],
      ] as const;
      const channels = rows.map(([x, y, z]) => x * (r ?? 0) + y * (g ?? 0) + z * (b ?? 0));
      return linear(`#${channels.map((each) => hex(bounded(each))).join('')}`);
    };
    const { paper = '' } = await inksOn('workbench/style.css', true);
    const inks = inksOf(onPaper);
    for (const [name, ink, grounds] of seen) {
      for (const ground of grounds) {
        const under = ground === 'paper' ? linear(paper) : turned(inks[ground] ?? '');
        expect(contrast(turned(inks[ink] ?? ''), under), `${name} on ${ground}`).toBeGreaterThanOrEqual(3);
      }
    }
  });

  it('are set for each ink, as a fill and as a line, by day, by night and where the reader sets the colors', () => {
    for (const ink of Object.keys(onPaper)) {
      expect(styleSheet).toMatch(new RegExp(`^\\.f-${ink}(,|\\s\\{)`, 'm'));
      expect(styleSheet).toMatch(new RegExp(`^\\.s-${ink}(,|\\s\\{)`, 'm'));
    }
    const forced = /@media \(forced-colors: active\) \{(.*?)\n\}/s.exec(styleSheet)?.[1] ?? '';
    for (const ink of Object.keys(inksOf(onPaper))) expect(forced).toContain(`--figure-${ink}: `);
    expect(forced).toContain('--figure-paper: Canvas;');
  });
});

/** Movement, force and what to watch have one color, told apart by shape. */
function inksOf({ paper: _, movement, force, watch, ...inks }: typeof onPaper): Record<string, string> {
  expect([force, watch]).toEqual([movement, movement]);
  return { ...inks, mark: movement };
}
