import fc from 'fast-check';
import type { Support } from '../../src/figure/fullPoses.js';
import type { Pose } from '../../src/figure/pose.js';

/** Ways to lie that a program can name. */
export const supports: fc.Arbitrary<Support> = fc.record({
  headSupport: fc.constantFrom('none', 'folded-towel', 'thin-pillow', 'pillow', 'raised-head-end'),
  knees: fc.constantFrom('straight', 'bent', 'over-pillow'),
});

const angle = (min: number, max: number) => fc.double({ min, max, noNaN: true });

const legs = fc.oneof(
  fc.record({ on: fc.constant('sole' as const), kneeDegrees: angle(40, 125), outDegrees: angle(-20, 40) }),
  fc.record({
    on: fc.constant('heel' as const),
    kneeDegrees: angle(0, 90),
    outDegrees: angle(0, 25),
    ankleDegrees: angle(-30, 15),
  }),
  fc.record({
    on: fc.constant('nothing' as const),
    hipDegrees: angle(25, 110),
    kneeDegrees: angle(0, 24),
    outDegrees: angle(0, 25),
    ankleDegrees: angle(-30, 15),
  }),
);

const arms = fc.oneof(
  fc.record({
    on: fc.constant('bed' as const),
    outDegrees: angle(5, 110),
    elbowDegrees: angle(0, 90),
    forearm: fc.constant('flat' as const),
    openDegrees: fc.constant(0),
  }),
  fc.record({
    on: fc.constant('bed' as const),
    outDegrees: angle(5, 60),
    elbowDegrees: angle(50, 110),
    forearm: fc.constant('up' as const),
    openDegrees: angle(-20, 40),
  }),
  fc.record({
    on: fc.constant('nothing' as const),
    raiseDegrees: angle(30, 140),
    outDegrees: angle(0, 35),
    elbowDegrees: angle(0, 20),
  }),
  fc.record({
    on: fc.constant('body' as const),
    hand: fc.constantFrom('belly' as const, 'ribs' as const, 'pelvis' as const, 'temple' as const),
  }),
);

/** Poses that somebody on the back can take up. */
export const lyingPoses: fc.Arbitrary<Pose> = fc.record({
  trunk: fc.constant({ is: 'lying' as const, liftDegrees: 0 }),
  legs: fc.record({ right: legs, left: legs }),
  arms: fc.record({ right: arms, left: arms }),
  hands: fc.constantFrom('open' as const, 'fists' as const),
  head: fc.record({ turnDegrees: angle(-45, 45), tuckDegrees: angle(-10, 15) }),
  ankleDegrees: fc.constant(0),
});
