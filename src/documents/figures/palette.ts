import type { Ink } from '../../figure/strokes.js';

/** A color for each ink. */
export type Palette = Readonly<Record<Ink, string>>;

/**
 * Colors for paper and files. Whatever has to be seen has a contrast of at least 3:1 with what it lies on (WCAG 2.2,
 * 1.4.11), by itself, by its edge or by the gap of paper around it.
 */
export const onPaper: Palette = {
  paper: '#ffffff',
  edge: '#626d7b',
  near: '#2f3e55',
  far: '#c3cad3',
  trunk: '#56667b',
  skin: '#76828f',
  hair: '#d9dee4',
  bed: '#ece4d6',
  prop: '#d2c3a2',
  floor: '#626d7b',
  held: '#6d5a2c',
  movement: '#b23a08',
  force: '#b23a08',
  watch: '#b23a08',
};

/** Colors for files that are shown on a dark page; those of `src/browser/figure.css` by night. */
export const atNight: Palette = {
  paper: '#24211d',
  edge: '#98a3b0',
  near: '#eef2f7',
  far: '#57616d',
  trunk: '#a9b5c3',
  skin: '#8c98a6',
  hair: '#4f5965',
  bed: '#3d3830',
  prop: '#5f543f',
  floor: '#98a3b0',
  held: '#d9bd78',
  movement: '#f4803f',
  force: '#f4803f',
  watch: '#f4803f',
};
