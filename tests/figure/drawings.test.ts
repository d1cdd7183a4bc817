import fc from 'fast-check';
import { XMLParser, XMLValidator } from 'fast-xml-parser';
import { beforeAll, describe, expect, it } from 'vitest';
import { type Catalogue, parseCatalogue } from '../../src/catalogue/catalogue.js';
import { catalogueFigure, prescribedFigure } from '../../src/documents/figures/exerciseFigure.js';
import { onPaper } from '../../src/documents/figures/palette.js';
import { figureSheet } from '../../src/documents/figures/sheet.js';
import { svgFile, svgOnPage } from '../../src/documents/figures/svg.js';
import { StillcountError } from '../../src/errors/stillcountError.js';
import { figurePanels } from '../../src/figure/figure.js';
import type { FigureSpec } from '../../src/figure/spec.js';
import { strokesOf } from '../../src/figure/strokes.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { lyingPoses, supports } from './bodies.js';

let catalogue: Catalogue;
beforeAll(async () => {
  const english = (await readCatalogues('audio-templates')).get('en');
  if (english === undefined) throw new Error('the English catalogue is missing');
  catalogue = english;
});

const setUp = { surface: 'bed', headSupport: 'folded-towel', knees: 'bent' } as const;

function exerciseOf(id: string) {
  const exercise = catalogue.exercises.get(id);
  if (exercise === undefined) throw new Error(`there is no ${id}`);
  return exercise;
}

function drawn(
  id: string,
  side: 'right' | 'left' | 'alternate' | null = null,
  lies: Partial<typeof setUp> | object = {},
) {
  const figure = prescribedFigure(
    { exercise: exerciseOf(id), setUp: { ...setUp, ...lies }, side },
    catalogue.figureWords,
  );
  if (figure === null) throw new Error(`${id} has no figure`);
  return figure;
}

const readSvg = new XMLParser({ ignoreAttributes: false, attributeNamePrefix: '' });

describe('a drawing', () => {
  it('is well-formed by another reader, says what it shows, and stays under 8 kB', () => {
    for (const exercise of catalogue.exercises.values()) {
      for (const { panel, text } of catalogueFigure(exercise, catalogue.figureWords)?.poses ?? []) {
        for (const svg of [svgFile(panel, text), svgOnPage(panel, text)]) {
          expect(XMLValidator.validate(svg)).toBe(true);
          expect(svg.length, exercise.id).toBeLessThan(8000);
          expect(readSvg.parse(svg).svg).toMatchObject({ role: 'img', 'aria-label': text });
        }
        expect(text, exercise.id).toMatch(/^[A-Z].*\.$/);
        expect(text, exercise.id).not.toMatch(/\{\{|undefined|, ,|\.\./);
      }
    }
  });

  it('of any pose has numbers alone in its paths', () => {
    fc.assert(
      fc.property(
        lyingPoses,
        lyingPoses,
        supports,
        fc.constantFrom('side', 'top', 'end'),
        (start, end, support, view) => {
          const poses = [start, end].map((pose) => ({
            pose,
            moves: [],
            presses: [],
            tightens: [],
            watch: [],
          }));
          const spec: FigureSpec = { view, props: [], poses };
          for (const { shapes, frame } of figurePanels(spec, support)) {
            for (const { d } of shapes.flatMap(strokesOf)) expect(d).toMatch(/^[MLlHhVvCAaZ\d\s-]+$/);
            expect(Object.values(frame).every(Number.isFinite)).toBe(true);
          }
        },
      ),
      { numRuns: 40 },
    );
  });

  it('lies within its frame', () => {
    for (const exercise of catalogue.exercises.values()) {
      for (const { panel } of catalogueFigure(exercise, catalogue.figureWords)?.poses ?? []) {
        const { left, top, width, height } = panel.frame;
        const moving = panel.shapes.filter(
          ({ role }) => role === 'movement' || role === 'force' || role === 'watch',
        );
        for (const { d } of moving) {
          const [, x = 0, y = 0] = (/^M(-?\d+)\s?(-?\d+)/.exec(d) ?? []).map((each) => Number(each) / 10);
          expect(x, exercise.id).toBeGreaterThanOrEqual(left);
          expect(x, exercise.id).toBeLessThanOrEqual(left + width);
          expect(y, exercise.id).toBeGreaterThanOrEqual(top);
          expect(y, exercise.id).toBeLessThanOrEqual(top + height);
        }
      }
    }
  });

  it('is of the working side: in a mirror for the left, and said so', () => {
    const [right, left] = [drawn('straight-leg-raise', 'right'), drawn('straight-leg-raise', 'left')];
    expect(right.poses.map(({ panel }) => panel.mirror)).toEqual([null, null]);
    expect(left.poses.map(({ panel }) => panel.mirror)).toEqual(['left-right', 'left-right']);
    expect(drawn('leg-slide-out', 'left').poses[1]?.panel.mirror).toBe('top-bottom');
    expect(left.poses.map(({ panel }) => panel.shapes)).toEqual(right.poses.map(({ panel }) => panel.shapes));
    const swapped = right.poses.map(({ text }) =>
      text.replace(
        /right|left/gi,
        (side) => ({ right: 'left', left: 'right', Right: 'Left', Left: 'Right' })[side] ?? side,
      ),
    );
    expect(left.poses.map(({ text }) => text)).toEqual(swapped);
    expect(drawn('straight-leg-raise', 'alternate')).toEqual(right);
  });

  it('has the head support and the knees of the program, in lines and in words', () => {
    const [onTowel, onPillow] = [drawn('head-press'), drawn('head-press', null, { headSupport: 'pillow' })];
    expect(onTowel.poses[0]?.text).toBe(
      'Lying on the back, knees bent, feet flat, arms by the sides, head on a folded towel.',
    );
    expect(onTowel.poses[1]?.text).toBe('The head presses straight down. Keep an eye on the chin.');
    expect(onPillow.poses[0]?.text).toContain('head on a pillow');
    expect(onPillow.poses[0]?.panel.shapes).not.toEqual(onTowel.poses[0]?.panel.shapes);
    expect(drawn('head-press', null, { knees: 'over-pillow' }).poses[0]?.text).toContain(
      'knees over a pillow',
    );
    // What the exercise does not allow is drawn as the exercise has it.
    expect(drawn('bridge', null, { knees: 'straight' }).poses[0]?.text).toContain('knees bent');
    expect(drawn('head-press', null, { headSupport: 'raised-head-end' }).poses[0]?.text).toContain(
      'head end of the bed raised',
    );
  });

  it('presses where the bed is, also where its head end is raised', () => {
    const force = (figure: ReturnType<typeof drawn>) =>
      figure.poses[1]?.panel.shapes.find(({ role }) => role === 'force')?.d ?? '';
    const heightOf = (d: string) => -Number(/^M-?\d+\s?(-?\d+)/.exec(d)?.[1]) / 10;
    expect(heightOf(force(drawn('head-press')))).toBeLessThan(0);
    // The head lies some 60 cm up a bed that is raised by 30 degrees: half of that in height.
    const raised = heightOf(force(drawn('head-press', null, { headSupport: 'raised-head-end' })));
    expect(raised).toBeGreaterThan(20);
    expect(raised).toBeLessThan(40);
  });

  it('shows a way from start to work only where something is seen to move', () => {
    expect(drawn('arm-reach').way).toHaveLength(9);
    expect(drawn('arm-reach').way[0]?.shapes).not.toEqual(drawn('arm-reach').way[4]?.shapes);
    expect(drawn('head-press').way).toEqual([]);
    expect(drawn('body-awareness-rest').way).toEqual([]);
  });

  it('is left out where an exercise has no poses, or the templates no words for them', () => {
    const { figure: _, ...wordsAlone } = exerciseOf('head-press');
    expect(catalogueFigure(wordsAlone, catalogue.figureWords)).toBeNull();
    expect(catalogueFigure(exerciseOf('head-press'), null)).toBeNull();
  });
});

describe('the colors on paper', () => {
  /** Relative luminance (WCAG 2.2, definition). */
  const luminance = (color: string): number => {
    const [r = 0, g = 0, b = 0] = [1, 3, 5]
      .map((at) => Number.parseInt(color.slice(at, at + 2), 16) / 255)
      .map((part) => (part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const contrast = (a: string, b: string): number => {
    const [high = 0, low = 0] = [luminance(a), luminance(b)].sort((x, y) => y - x);
    return (high + 0.05) / (low + 0.05);
  };

  it('are told apart from the paper and the bed by at least 3 to 1 (WCAG 2.2, 1.4.11)', () => {
    expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 5);
    for (const ink of ['near', 'trunk', 'edge', 'floor', 'held', 'movement', 'force', 'watch'] as const) {
      expect(contrast(onPaper[ink], onPaper.paper), `${ink} on paper`).toBeGreaterThanOrEqual(3);
      if (ink !== 'floor')
        expect(contrast(onPaper[ink], onPaper.bed), `${ink} on the bed`).toBeGreaterThanOrEqual(3);
    }
  });

  it('tell near limbs from far ones by 3 to 1 without any hue', () => {
    expect(contrast(onPaper.near, onPaper.far)).toBeGreaterThanOrEqual(3);
  });
});

describe('a sheet', () => {
  it('has every figure once, with its name', () => {
    const figures = [...catalogue.exercises.values()].flatMap((exercise) => {
      const figure = catalogueFigure(exercise, catalogue.figureWords);
      return figure === null ? [] : [{ name: exercise.name, figure }];
    });
    const sheet = readSvg.parse(figureSheet(figures)).svg;
    expect(sheet.text.map((each: { '#text': string }) => each['#text'])).toEqual(
      figures.map(({ name }) => name),
    );
    expect(sheet.g).toHaveLength(figures.reduce((sum, { figure }) => sum + figure.poses.length, 0));
  });
});

describe('poses that nobody can take up', () => {
  it.each([
    [
      'a knee bent too far',
      '{ legs: { both: { on: sole, kneeDegrees: 150 } } }',
      { path: 'figure.poses[0].pose.legs', found: undefined },
    ],
    [
      'a leg through the bed',
      '{ legs: { both: { on: nothing, hipDegrees: -20, kneeDegrees: 0 } } }',
      { path: 'figure.poses[0].pose', found: /cm in the bed$/, allowed: /^at most/, message: /right knee/ },
    ],
  ])(
    'are refused with the file, the joint, what was found and what is allowed: %s',
    async (_, pose, expected) => {
      const problems = await refused(pose);
      expect(problems[0]?.file).toBe('audio-templates/en/exercises/head-press.yaml');
      expect(problems[0]?.path).toContain(expected.path);
      if (expected.found !== undefined) {
        expect(problems[0]?.message).toMatch(expected.message);
        expect(problems[0]?.found).toMatch(expected.found);
        expect(problems[0]?.allowed).toMatch(expected.allowed);
      }
    },
  );

  it('are refused for a prop that does not exist, with those that do', async () => {
    const [problem] = await refused('{}', '  props: [pilow-on-belly]\n');
    expect(problem?.path).toContain('figure.props[0]');
    expect(`${problem?.found}`).toContain('pilow-on-belly');
    expect(problem?.allowed).toContain('pillow-on-belly');
  });
});

async function refused(pose: string, props = '') {
  const { readFile } = await import('node:fs/promises');
  const folder = 'audio-templates/en';
  const read = async (path: string) => ({
    path: `${folder}/${path}`,
    text: await readFile(`${folder}/${path}`, 'utf8'),
  });
  const [phrases, exercise] = [await read('phrases.yaml'), await read('exercises/head-press.yaml')];
  const figure = `figure:\n  view: side\n${props}  poses:\n    - pose: ${pose}\n`;
  const text = exercise.text.replace(/^figure:\n(?: .*\n)+/m, figure);
  try {
    parseCatalogue([phrases, { ...exercise, text }], folder);
  } catch (error) {
    if (error instanceof StillcountError) return error.problems;
    throw error;
  }
  throw new Error('nothing was refused');
}
