import { z } from 'zod';

/** Changes of position or of props; the time for each is set per patient. */
export const changeKinds = [
  /** From standing beside the bed to lying on the back. */
  'lying-down',
  /** From lying on the side to sitting on the edge. */
  'sitting-up',
  /** From the back onto a side, or back again. */
  'rolling',
  /** Placing or removing a towel, a pillow or a roll. */
  'placing',
  /** Bending, straightening or changing legs. */
  'moving-legs',
  /** From one edge of the bed to the other, or to its middle, in small steps. */
  'moving-across',
] as const;
export const changeKindSchema = z.enum(changeKinds);
export type ChangeKind = z.infer<typeof changeKindSchema>;
