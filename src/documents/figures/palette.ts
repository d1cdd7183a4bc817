import type { Ink } from '../../figure/strokes.js';

/**
 * Colors for paper and files. Whatever has to be seen has a contrast of at least 3:1 with what it lies on (WCAG 2.2,
 * 1.4.11), by itself or by its edge.
 */
export const onPaper: Readonly<Record<Ink, string>> = {
  paper: '#ffffff',
  edge: '#6f7a88',
  near: '#2f3e55',
  far: '#c3cad3',
  trunk: '#5d6d82',
  skin: '#8f9caa',
  hair: '#d9dee4',
  bed: '#e6ddcd',
  prop: '#cbb994',
  floor: '#6f7a88',
  held: '#6d5a2c',
  movement: '#b23a08',
  force: '#b23a08',
  watch: '#b23a08',
};
