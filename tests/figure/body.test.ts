import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { between } from '../../src/figure/between.js';
import { cm, girths, lengths, ranges, shares, statureCm } from '../../src/figure/body.js';
import { jointAngles, poseProblems } from '../../src/figure/checks.js';
import { lyingWith } from '../../src/figure/fullPoses.js';
import { middleJoint } from '../../src/figure/limbs.js';
import { type Skeleton, skeletonOf } from '../../src/figure/skeleton.js';
import { angleBetween, distance, subtract, type Vector } from '../../src/figure/vector.js';
import { lyingPoses, supports } from './bodies.js';

const sides = ['right', 'left'] as const;

describe('the proportions of the body', () => {
  it('are those of Drillis and Contini', () => {
    // Drillis and Contini 1966, Body segment parameters, as given in Winter, Biomechanics and Motor Control of Human
    // Movement, the figure of segment lengths as shares of body height; from memory.
    const published = {
      upperArm: 0.186,
      forearm: 0.146,
      hand: 0.108,
      thigh: 0.245,
      shank: 0.246,
      foot: 0.152,
      ankle: 0.039,
      trunk: 0.288,
      headHeight: 0.13,
    };
    expect(shares).toEqual(published);
  });

  it('add up to the published height of the hip: ankle, shank and thigh are 0.530 of stature', () => {
    // The same figure states the height of the hip by itself.
    expect(shares.ankle + shares.shank + shares.thigh).toBeCloseTo(0.53, 3);
  });

  it('place the shoulder as far above the hip as published', () => {
    // The same figure: trunk from hip to shoulder 0.288 of stature, within 3 percent of stature for a back that lies.
    const body = skeletonOf(straightPose, lyingWith({ headSupport: 'none', knees: 'straight' }));
    const [shoulder, hip] = [body.arms.right.shoulder, body.legs.right.hip];
    expect(Math.abs(Math.abs(shoulder[0] - hip[0]) / statureCm - shares.trunk)).toBeLessThan(0.03);
  });

  it('move within the normal range of each joint', () => {
    // American Academy of Orthopaedic Surgeons 1965, Joint Motion: hip flexion 0 to 120 and extension to 30, knee flexion
    // 0 to 135, elbow flexion 0 to 150, shoulder flexion 0 to 180; from memory. Ours may be narrower, never wider.
    const published = {
      hipFlexion: [-30, 120],
      hipAbduction: [-30, 45],
      kneeFlexion: [-10, 135],
      ankleDorsiflexion: [-50, 20],
      shoulderFlexion: [-60, 180],
      shoulderAbduction: [-75, 180],
      elbowFlexion: [0, 150],
      neckRotation: [-60, 60],
      neckFlexion: [-45, 45],
    } as const;
    for (const [joint, [least, most]] of Object.entries(published)) {
      const [low, high] = ranges[joint as keyof typeof ranges];
      expect(low, joint).toBeGreaterThanOrEqual(least);
      expect(high, joint).toBeLessThanOrEqual(most);
    }
  });
});

const straightPose = {
  trunk: { is: 'lying' as const, liftDegrees: 0 },
  legs: { both: { on: 'heel' as const, kneeDegrees: 0, outDegrees: 0, ankleDegrees: 0 } },
  arms: {
    both: { on: 'bed' as const, outDegrees: 20, elbowDegrees: 0, forearm: 'flat' as const, openDegrees: 0 },
  },
  hands: 'open' as const,
  head: { turnDegrees: 0, tuckDegrees: 0 },
  ankleDegrees: 0,
};

describe('a limb of two segments', () => {
  it('bends as the law of cosines has it', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 5, max: 40, noNaN: true }),
        fc.double({ min: 5, max: 40, noNaN: true }),
        fc.double({ min: 5, max: 175, noNaN: true }),
        (upper, lower, bent) => {
          const span = Math.sqrt(
            upper ** 2 + lower ** 2 + 2 * upper * lower * Math.cos((bent * Math.PI) / 180),
          );
          const end: Vector = [span, 0, 0];
          const joint = middleJoint([0, 0, 0], end, upper, lower, [0, 1, 0]);
          expect(distance([0, 0, 0], joint)).toBeCloseTo(upper, 6);
          expect(distance(joint, end)).toBeCloseTo(lower, 6);
          expect(angleBetween(joint, subtract(end, joint))).toBeCloseTo(bent, 4);
        },
      ),
    );
  });
});

describe('any pose on the back', () => {
  it('keeps the length of every segment, and so does the way from one pose to another', () => {
    fc.assert(
      fc.property(
        lyingPoses,
        lyingPoses,
        supports,
        fc.double({ min: 0, max: 1, noNaN: true }),
        (a, b, support, share) => {
          const lying = lyingWith(support);
          const [start, end] = [skeletonOf(a, lying), skeletonOf(b, lying)];
          for (const body of [start, end, between(start, end, share)]) expectLengths(body);
        },
      ),
    );
  });

  it('rests on what carries it: pelvis, shoulders, head on its support, soles and heels', () => {
    fc.assert(
      fc.property(lyingPoses, supports, (pose, support) => {
        const lying = lyingWith(support);
        const body = skeletonOf(pose, lying);
        const { points, pelvis, headGapCm } = body.trunk;
        // The back of the pelvis touches the bed under it, raised or flat.
        expect(distance(points.pelvis, [0, 0, 0])).toBeCloseTo(cm(girths.pelvis.depth), 3);
        // The support is as high as the gap, and no higher.
        expect(Math.abs(headGapCm - lying.gapCm)).toBeLessThan(0.05);
        const overBed = subtract(points.head, [0, 0, 0]);
        const height =
          overBed[0] * pelvis.front[0] + overBed[1] * pelvis.front[1] + overBed[2] * pelvis.front[2];
        expect(height - cm(girths.head.depth)).toBeCloseTo(headGapCm, 3);
        expect(poseProblems(pose, body)).toEqual([]);
      }),
    );
  });

  it('is rounder in the upper back the higher the head lies', () => {
    const slopeOf = (headSupport: 'none' | 'folded-towel' | 'thin-pillow' | 'pillow') => {
      const { trunk } = skeletonOf(straightPose, lyingWith({ headSupport, knees: 'straight' }));
      const [x, y] = subtract(trunk.points.upper, trunk.points.chest);
      return (Math.atan2(y, -x) * 180) / Math.PI;
    };
    const slopes = [slopeOf('none'), slopeOf('folded-towel'), slopeOf('thin-pillow'), slopeOf('pillow')];
    expect(slopes).toEqual([...slopes].sort((a, b) => a - b));
    expect((slopes[3] ?? 0) - (slopes[0] ?? 0)).toBeGreaterThan(10);
  });

  it('is the mirror image of the same pose with the sides changed', () => {
    fc.assert(
      fc.property(lyingPoses, supports, (pose, support) => {
        const lying = lyingWith(support);
        const changed = {
          ...pose,
          legs: { right: onSide(pose.legs, 'left'), left: onSide(pose.legs, 'right') },
          arms: { right: onSide(pose.arms, 'left'), left: onSide(pose.arms, 'right') },
          head: { ...pose.head, turnDegrees: -pose.head.turnDegrees },
        };
        const [body, mirrored] = [skeletonOf(pose, lying), skeletonOf(changed, lying)];
        for (const side of sides) {
          const other = side === 'right' ? 'left' : 'right';
          const pairs = [
            ...zipped(body.legs[side], mirrored.legs[other]),
            ...zipped(body.arms[side], mirrored.arms[other]),
          ];
          for (const [[x, y, z], there] of pairs) expect(distance([x, y, -z], there)).toBeLessThan(1e-6);
        }
      }),
    );
  });
});

describe('angles', () => {
  it('are found again at the joints where a pose states them', () => {
    const body = skeletonOf(
      {
        ...straightPose,
        legs: { both: { on: 'nothing', hipDegrees: 70, kneeDegrees: 35, outDegrees: 0, ankleDegrees: 0 } },
        arms: { both: { on: 'nothing', raiseDegrees: 90, outDegrees: 0, elbowDegrees: 25 } },
      },
      lyingWith({ headSupport: 'folded-towel', knees: 'bent' }),
    );
    const angles = jointAngles(body.trunk, body.legs.right, body.arms.right);
    expect(angles.hipFlexion).toBeCloseTo(70, 1);
    expect(angles.kneeFlexion).toBeCloseTo(35, 1);
    expect(angles.elbowFlexion).toBeCloseTo(25, 1);
    expect(angles.shoulderFlexion).toBeCloseTo(90, 1);
  });
});

function onSide<Limb>(pair: { both: Limb } | { right: Limb; left: Limb }, side: 'right' | 'left'): Limb {
  return 'both' in pair ? pair.both : pair[side];
}

function zipped<Part extends Record<string, Vector>>(a: Part, b: Part): [Vector, Vector][] {
  return Object.entries(a).map(([name, at]) => [at, b[name] ?? at]);
}

function expectLengths({ legs, arms }: Skeleton): void {
  for (const side of sides) {
    const { hip, knee, ankle } = legs[side];
    const { shoulder, elbow, wrist, hand } = arms[side];
    expect(distance(hip, knee)).toBeCloseTo(lengths.thigh, 3);
    expect(distance(knee, ankle)).toBeCloseTo(lengths.shank, 3);
    expect(distance(shoulder, elbow)).toBeCloseTo(lengths.upperArm, 3);
    expect(distance(elbow, wrist)).toBeCloseTo(lengths.forearm, 3);
    expect(distance(wrist, hand)).toBeCloseTo(lengths.hand, 3);
  }
}
