import { z } from 'zod';

const surface = z.enum(['bed', 'firm-bed']);
const headSupport = z
  .enum(['none', 'folded-towel', 'thin-pillow', 'pillow', 'raised-head-end'])
  .describe('Only as high as fills the gap, so that the chin is level.');
const knees = z.enum(['straight', 'bent', 'over-pillow']);

/** The patient's set-up, as a program states it. */
export const setUpSchema = z
  .strictObject({
    surface: surface.default('bed'),
    headSupport: headSupport.default('folded-towel'),
    knees: knees.default('bent'),
  })
  .describe('How this patient lies.');
export type SetUp = z.infer<typeof setUpSchema>;

/** How an exercise or a precaution's adaptation differs from the program's set-up; anything not named stays. */
export const setUpDifferenceSchema = z.strictObject({ surface, headSupport, knees }).partial();
