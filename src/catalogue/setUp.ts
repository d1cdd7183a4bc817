import { z } from 'zod';

/** How a patient lies; a program states it, an exercise or a precaution's adaptation may differ from it. */
export const setUpSchema = z
  .strictObject({
    surface: z.enum(['bed', 'firm-bed']).default('bed'),
    headSupport: z
      .enum(['none', 'folded-towel', 'thin-pillow', 'pillow', 'raised-head-end'])
      .default('folded-towel')
      .describe('Only as high as fills the gap, so that the chin is level.'),
    knees: z.enum(['straight', 'bent', 'over-pillow']).default('bent'),
  })
  .describe('How this patient lies.');
export type SetUp = z.infer<typeof setUpSchema>;
