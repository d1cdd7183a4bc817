import type { SheetFit } from './pdf/paper.js';

/** Large print of 16 points and more (Royal National Institute of Blind People, clear and large print; from memory). */
const largePoints = 16;

/**
 * The least size of letters otherwise. Half the usual sight reads letters of ten minutes of arc (Snellen: five for the
 * usual sight), which is 1.75 mm at 60 cm. Small letters of this font are half as high as its size, so that 12 points
 * make 2.1 mm and leave a fifth in hand. Clear print begins at 12 points too (the same source, from memory).
 */
const leastPoints = 12;

const fullPage = 8;
/** Closer than that, the letters of neighboring lines would touch. */
const leastLeading = 1.08;

/** Half an inch and a little more: no printer cuts anything off. */
export const marginOf = 36;

export function lettersOf(isLargePrint: boolean): number {
  return isLargePrint ? largePoints : leastPoints;
}

/** How each sheet of a handout is set: the largest of these with which it keeps to its pages. */
export function handoutSheets(exerciseCount: number): Readonly<Record<string, SheetFit>> {
  const pages = Math.max(1, Math.ceil(exerciseCount / fullPage));
  return {
    program: {
      pages,
      settings: [
        { letterPoints: 14, columns: 1, figureCm: 6 },
        { letterPoints: 13, columns: 1, figureCm: 5.6 },
        { letterPoints: 13, columns: 2, figureCm: 5.6 },
        { letterPoints: leastPoints, columns: 2, figureCm: 5.6 },
        { letterPoints: leastPoints, columns: 2, figureCm: 4.8 },
        { letterPoints: leastPoints, columns: 2, figureCm: 4.2 },
        { letterPoints: leastPoints, columns: 2, figureCm: 4.2, leading: leastLeading, mostFigurePoints: 66 },
        { letterPoints: leastPoints, columns: 2, figureCm: 3.5, leading: leastLeading, mostFigurePoints: 56 },
      ],
    },
    around: {
      pages: 1,
      settings: [
        { letterPoints: 13, columns: 2, figureCm: 4.4 },
        { letterPoints: leastPoints, columns: 2, figureCm: 4.4 },
        { letterPoints: leastPoints, columns: 2, figureCm: 3.4 },
        { letterPoints: leastPoints, columns: 2, figureCm: 3 },
        { letterPoints: leastPoints, columns: 2, figureCm: 3, leading: leastLeading },
      ],
    },
    large: { pages: 0, settings: [{ letterPoints: largePoints, columns: 1, figureCm: 6 }] },
    ticks: { pages: 1, settings: [{ letterPoints: 14, columns: 1, figureCm: 6 }] },
  };
}
