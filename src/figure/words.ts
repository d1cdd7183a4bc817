import { z } from 'zod';
import { bodyTargets } from './pose.js';
import { directions, pairedParts, props, singleParts } from './spec.js';

const words = z.string().trim().min(1);

function eachOf<Name extends string>(names: readonly Name[]) {
  return z.record(z.enum(names), words);
}

/** The description of a limb's position: for one side, and for both. */
const limb = z.strictObject({ one: words, both: words });

const legWays = [
  'bent',
  'bent-together',
  'straight',
  'over-pillow',
  'on-heel',
  'raised-straight',
  'raised-bent',
  'over-roll',
  'over-edge',
  'on-floor',
  'let-out',
] as const;
export type LegWay = (typeof legWays)[number];

const armWays = [
  'at-side',
  'in-front',
  'out-a-little',
  'out',
  'elbow-out',
  'forearm-up',
  'forearm-turned-out',
  'low-in-front',
  'to-ceiling',
  'overhead',
] as const;
export type ArmWay = (typeof armWays)[number];

/** The words of text alternatives; `describe.ts` builds sentences from them. */
export const figureWordsSchema = z.strictObject({
  trunk: eachOf(['lying', 'lifted', 'side-lying', 'sitting', 'leaning', 'standing']),
  headSupport: eachOf(['none', 'folded-towel', 'thin-pillow', 'pillow', 'raised-head-end']),
  legs: z.record(z.enum(legWays), limb),
  arms: z.record(z.enum(armWays), limb),
  handsOn: z.record(z.enum(bodyTargets), limb),
  sameFrom: eachOf(['side', 'top', 'end']),
  fists: words,
  faceTurned: words,
  chinTucked: words,
  toesUp: words,
  toesPointed: words,
  props: eachOf(props),
  parts: eachOf(singleParts),
  pairs: z.record(z.enum(pairedParts), z.strictObject({ one: words, both: words })),
  directions: eachOf(directions),
  /** Away from the middle, for both sides at once. */
  outward: limb,
  side: eachOf(['right', 'left']),
  moves: limb,
  presses: limb,
  tightens: limb,
  watch: words,
  and: words,
});
export type FigureWords = z.infer<typeof figureWordsSchema>;
