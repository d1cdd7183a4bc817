import { z } from 'zod';

const surface = z.enum(['bed', 'firm-bed']);
const headSupport = z
  .enum(['none', 'folded-towel', 'thin-pillow', 'pillow', 'raised-head-end'])
  .describe('Only as high as fills the gap, so that the chin is level.');
const knees = z.enum(['straight', 'bent', 'over-pillow']);

/** How a patient lies; a program states it. */
export const setUpSchema = z
  .strictObject({
    surface: surface.default('bed'),
    headSupport: headSupport.default('folded-towel'),
    knees: knees.default('bent'),
  })
  .describe('How this patient lies.');
export type SetUp = z.infer<typeof setUpSchema>;

/** Where an exercise or a precaution's adaptation differs from it: what is not named stays as it is. */
export const setUpDifferenceSchema = z.strictObject({ surface, headSupport, knees }).partial();
