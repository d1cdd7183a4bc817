import { gzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { SessionFigures } from '../../../src/http/listening/figures.js';
import { openPages } from '../../../src/http/templates/render.js';
import type { PrescribedExercise, PrescribedProgram } from '../../../src/program/prescribed.js';
import { layOut } from '../../../src/script/layOutSession.js';
import { prescriptionOf } from '../../documents/papers.js';

const pages = await openPages();
const figures = new SessionFigures();
const picturesIn = (page: string) => page.split('<svg').length - 1;
const { program } = prescriptionOf(14);

const pageOf = async (shown: PrescribedProgram, drawn = figures) =>
  pages.part('listen-figures', { assets: { listenStyle: '/assets/a.css' }, ...(await drawn.view(shown)) });
const withoutFigure = (prescribed: PrescribedExercise): PrescribedExercise => {
  const copy = structuredClone(prescribed);
  delete copy.exercise.figure;
  return copy;
};

describe('the figures of a session', () => {
  it('are named by the chapters that are heard', async () => {
    const drawn = [...(await pageOf(program)).matchAll(/data-chapter="(\d+)" data-name="([^"]+)"/g)];
    const titles = layOut(program, false).map(({ title }) => title);
    expect(drawn).toHaveLength(program.exercises.length);
    for (const [, chapter, name] of drawn) expect(titles[Number(chapter)]).toBe(name);
  });

  it('show how this patient lies, in a picture and in words', async () => {
    const setUp = { ...program.setUp, headSupport: 'pillow', knees: 'over-pillow' } as const;
    const lyingIn = async (shown: PrescribedProgram) =>
      /<section data-lie>.*?<\/section>/s.exec(await pageOf(shown))?.[0] ?? '';
    const [own, usual] = [await lyingIn({ ...program, setUp }), await lyingIn(program)];
    expect(own).toContain(
      '<figcaption data-said>Lying on the back, knees over a pillow, arms by the sides, head on a pillow.</figcaption>',
    );
    expect(own).toContain('<svg class="figure"');
    expect(own).not.toBe(usual);
  });

  it('show both sides where both have their turn, and say which one stands in the list', async () => {
    const [one] = program.exercises.filter(({ side }) => side === 'both');
    if (one === undefined) throw new Error('no exercise of the test has two sides');
    const turns = 'The picture shows the right side. The left side has its turn too.';
    const page = await pageOf({ ...program, exercises: [one] });
    expect(page).toContain(turns);
    const [, right = '', left = ''] = page.split(/<div data-(?:drawn|left hidden)>/);
    expect(right.toLowerCase()).toContain('the right hand moves');
    expect(left.toLowerCase()).toContain('the left hand moves');
    const alone = await pageOf({ ...program, exercises: [{ ...one, side: 'left' }] });
    expect(alone).not.toContain('data-left');
    expect(alone.toLowerCase()).toContain('the left hand moves');
  });

  it('are words alone for an exercise without poses, and say so', async () => {
    const [one] = program.exercises;
    if (one === undefined) throw new Error('the test has no exercise');
    const page = await pageOf({ ...program, exercises: [withoutFigure(one)] });
    expect(page).toContain('There is no picture of this one. This is how it goes:');
    for (const line of one.exercise.how) expect(page).toContain(`<li>${line}</li>`);
    expect(picturesIn(page), 'how to lie').toBe(1);
    const catalogue = { ...program.catalogue, figureWords: null };
    const bare = await pageOf({ ...program, catalogue }, new SessionFigures());
    expect(picturesIn(bare)).toBe(0);
    expect(bare).toContain('There is no picture here. Lie as you were shown.');
  });

  it('are small enough to come with a session, and name nobody', async () => {
    const page = await pageOf({ ...program, listener: { name: 'Rosamunde' } });
    expect(gzipSync(page).length).toBeLessThan(40_000);
    expect(page.includes('Rosamunde')).toBe(false);
    expect(page.includes('style='), 'which the page may not have').toBe(false);
  });
});
