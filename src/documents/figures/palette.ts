import type { Ink } from '../../figure/strokes.js';

/**
 * Colors for paper and files. Whatever has to be seen has a contrast of at least 3:1 with what it lies on (WCAG 2.2,
 * 1.4.11), by itself, by its edge or by the gap of paper around it.
 */
export const onPaper: Readonly<Record<Ink, string>> = {
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
