import { cm, girths, lengths, radii } from './body.js';
import type { ArmPose, LegPose, Side } from './pose.js';
import type { Axes, Trunk } from './trunk.js';
import {
  across,
  add,
  cross,
  distance,
  dot,
  from,
  length,
  middle,
  radians,
  scale,
  subtract,
  turn,
  unit,
  type Vector,
} from './vector.js';

export type Leg = { hip: Vector; knee: Vector; ankle: Vector; heel: Vector; toe: Vector };
export type Arm = { shoulder: Vector; elbow: Vector; wrist: Vector; hand: Vector };

/** Toward that side of the body. */
export const sign = (side: Side): 1 | -1 => (side === 'right' ? 1 : -1);

/**
 * The joint in the middle of a limb of two segments whose ends are known: the elbow, the knee.
 *
 * @param pole where the joint points; its part along the limb does not matter
 */
export function middleJoint(root: Vector, end: Vector, upper: number, lower: number, pole: Vector): Vector {
  const line = subtract(end, root);
  const far = Math.min(length(line), upper + lower);
  const along = (upper ** 2 - lower ** 2 + far ** 2) / (2 * far);
  const aside = Math.sqrt(Math.max(0, upper ** 2 - along ** 2));
  const direction = unit(line);
  return from(root, [direction, along], [unit(across(pole, direction)), aside]);
}

/** How far apart the ends of a limb are when its middle joint is bent that much. */
function spanOf(upper: number, lower: number, bentDegrees: number): number {
  return Math.sqrt(upper ** 2 + lower ** 2 + 2 * upper * lower * Math.cos(radians(bentDegrees)));
}

/** @param restingHip where the hip would be with the pelvis on the bed: feet stay when it is raised */
export function legOf(pose: LegPose, side: Side, hip: Vector, restingHip: Vector, trunk: Trunk): Leg {
  switch (pose.on) {
    case 'sole': {
      const ankle = ankleOnBed(restingHip, lengths.ankle, pose.kneeDegrees);
      const knee = kneeOver(hip, ankle, pose.outDegrees, side);
      const toes: Vector = [1, 0, sign(side) * Math.sin(radians(pose.outDegrees)) * 0.4];
      return { hip, knee, ankle, ...flatFoot(ankle, unit(toes), [0, -1, 0]) };
    }
    case 'heel':
      return legOnHeel(pose, side, hip, restingHip);
    case 'over-edge':
    case 'nothing': {
      const { cranial, front, right } = trunk.pelvis;
      const outward = scale(right, sign(side));
      const lower = scale(cranial, -1);
      const turned = (degrees: number) =>
        turn(turn(lower, right, degrees), front, -sign(side) * pose.outDegrees);
      const hipDegrees = flexionOnRaisedBed(pose.hipDegrees, trunk.inclineDegrees);
      const knee = from(hip, [turned(hipDegrees), lengths.thigh]);
      const ankle = from(knee, [turned(hipDegrees - pose.kneeDegrees), lengths.shank]);
      const toesUp = across(turned(hipDegrees - pose.kneeDegrees + 90), outward);
      return { hip, knee, ankle, ...footAt(knee, ankle, toesUp, pose.ankleDegrees) };
    }
    case 'floor': {
      const { front } = trunk.pelvis;
      const forward = unit([front[0], 0, front[2]]);
      const ankleHeight = trunk.floorCm + lengths.ankle;
      const ankle: Vector = add([hip[0], ankleHeight, hip[2]], scale(forward, floorReach(hip, ankleHeight)));
      const knee = middleJoint(hip, ankle, lengths.thigh, lengths.shank, forward);
      return { hip, knee, ankle, ...flatFoot(ankle, forward, [0, -1, 0]) };
    }
  }
}

/** From here on a raised head end adds nothing to the bend of a hip. */
const fullBendDegrees = 100;

/**
 * With the head end raised a hip is bent already before the leg leaves the flat part of the bed; the higher a leg goes,
 * the less of that is added.
 */
function flexionOnRaisedBed(hipDegrees: number, inclineDegrees: number): number {
  return hipDegrees + inclineDegrees * Math.min(1, Math.max(0, 1 - hipDegrees / fullBendDegrees));
}

/** The ankle as high as brings the heel down onto the bed, which the foot's own angle decides. */
function legOnHeel(pose: Extract<LegPose, { on: 'heel' }>, side: Side, hip: Vector, restingHip: Vector): Leg {
  const outward = (ankle: Vector) =>
    add(restingHip, turn(subtract(ankle, restingHip), [0, 1, 0], -sign(side) * pose.outDegrees));
  const at = (height: number): Leg => {
    const ankle = outward(ankleOnBed(restingHip, height, pose.kneeDegrees));
    const knee = kneeOver(hip, ankle, 0, side);
    return { hip, knee, ankle, ...footAt(knee, ankle, [0, 1, 0], pose.ankleDegrees) };
  };
  let height = cm(radii.heel);
  for (let step = 0; step < 4; step += 1) height += cm(radii.heel) - at(height).heel[1];
  return at(height);
}

/** How far in front of the hips the ankles stand: under the knees of somebody who sits, under the hips otherwise. */
function floorReach(hip: Vector, ankleHeight: number): number {
  const down = hip[1] - ankleHeight;
  return down > lengths.shank + lengths.thigh * 0.8 ? 0 : lengths.thigh * 0.98;
}

function ankleOnBed(hip: Vector, height: number, kneeDegrees: number): Vector {
  const span = spanOf(lengths.thigh, lengths.shank, kneeDegrees);
  return [hip[0] + Math.sqrt(span ** 2 - (hip[1] - height) ** 2), height, hip[2]];
}

/** The knee over the line from hip to ankle, or let out to its side from there. */
function kneeOver(hip: Vector, ankle: Vector, outDegrees: number, side: Side): Vector {
  const knee = middleJoint(hip, ankle, lengths.thigh, lengths.shank, [0, 1, 0]);
  const axis = unit(subtract(ankle, hip));
  return add(hip, turn(subtract(knee, hip), axis, sign(side) * outDegrees));
}

function flatFoot(ankle: Vector, forward: Vector, down: Vector): Pick<Leg, 'heel' | 'toe'> {
  return {
    heel: from(ankle, [forward, -lengths.heel], [down, lengths.ankle - cm(radii.heel)]),
    toe: from(ankle, [forward, lengths.forefoot], [down, lengths.ankle - cm(radii.toe)]),
  };
}

/** A foot at a right angle to the shin, or bent at the ankle toward the shin from there. */
function footAt(
  knee: Vector,
  ankle: Vector,
  toesUp: Vector,
  ankleDegrees: number,
): Pick<Leg, 'heel' | 'toe'> {
  const shin = unit(subtract(ankle, knee));
  const neutral = unit(across(toesUp, shin));
  // Feet at rest lie a little pointed.
  const forward = turn(neutral, cross(neutral, shin), 12 - ankleDegrees);
  const sole = turn(shin, cross(neutral, shin), 12 - ankleDegrees);
  return {
    heel: from(ankle, [forward, -lengths.heel * 0.55], [sole, lengths.ankle - cm(radii.heel)]),
    toe: from(ankle, [forward, lengths.forefoot], [sole, lengths.ankle - cm(radii.toe)]),
  };
}

export function armOf(
  pose: ArmPose,
  side: Side,
  shoulder: Vector,
  trunk: Trunk,
  leg: Leg,
  otherLeg: Leg,
): Arm {
  switch (pose.on) {
    case 'bed':
      return armOnBed(pose, side, shoulder, { ...trunk.resting, right: trunk.pelvis.right });
    case 'nothing': {
      const direction = raised(trunk.shoulders, side, pose.raiseDegrees, pose.outDegrees);
      const elbow = from(shoulder, [direction, lengths.upperArm]);
      const bent = raised(trunk.shoulders, side, pose.raiseDegrees + pose.elbowDegrees, pose.outDegrees);
      return { shoulder, elbow, ...handFrom(elbow, bent) };
    }
    case 'body': {
      const { at, pole } = targetOf(
        pose.hand,
        side,
        trunk,
        pose.hand === 'behind-other-knee' ? otherLeg : leg,
      );
      const wrist = within(shoulder, at, lengths.upperArm + lengths.forearm);
      const elbow = middleJoint(shoulder, wrist, lengths.upperArm, lengths.forearm, pole);
      return { shoulder, elbow, wrist, hand: handToward(wrist, elbow, trunk, side, pose.hand) };
    }
  }
}

/** From beside the body (0) forward to overhead (180), and from there out to the side. */
function raised(
  { cranial, front, right }: Axes,
  side: Side,
  raiseDegrees: number,
  outDegrees: number,
): Vector {
  const inPlane = from(scale(cranial, -Math.cos(radians(raiseDegrees))), [
    front,
    Math.sin(radians(raiseDegrees)),
  ]);
  return unit(
    from(scale(inPlane, Math.cos(radians(outDegrees))), [right, sign(side) * Math.sin(radians(outDegrees))]),
  );
}

function armOnBed(
  pose: Extract<ArmPose, { on: 'bed' }>,
  side: Side,
  shoulder: Vector,
  { cranial, right, front }: Axes,
): Arm {
  const down = scale(cranial, -1);
  const outward = scale(right, sign(side));
  const along = (degrees: number) =>
    from(scale(down, Math.cos(radians(degrees))), [outward, Math.sin(radians(degrees))]);
  const upperArm = along(pose.outDegrees);
  const elbow = onBed(shoulder, upperArm, front, lengths.upperArm, cm(radii.elbow));
  if (pose.forearm === 'up') {
    const lying = unit(subtract(elbow, shoulder));
    const up = turn(lying, cross(lying, front), pose.elbowDegrees);
    return { shoulder, elbow, ...handFrom(elbow, turn(up, lying, sign(side) * pose.openDegrees)) };
  }
  // A bent elbow brings the hand up beside the head when the arm is out, and in toward the body when it is not.
  const bend = pose.outDegrees > 60 ? pose.elbowDegrees : -pose.elbowDegrees;
  const forward = along(pose.outDegrees + bend);
  const wrist = onBed(elbow, forward, front, lengths.forearm, cm(radii.wrist));
  return { shoulder, elbow, wrist, hand: onBed(wrist, forward, front, lengths.hand, cm(radii.wrist)) };
}

/**
 * The end of a segment that comes down onto the bed: onto its raised head end, or onto the flat part where the segment
 * reaches that far.
 *
 * @param normal of the raised part, which meets the flat one under the hips
 */
function onBed(start: Vector, along: Vector, normal: Vector, long: number, height: number): Vector {
  const onRaised = downOnto(start, along, normal, long, dot(start, normal) - height);
  if (onRaised[1] >= height - 0.01) return onRaised;
  const level = unit([along[0], 0, along[2]]);
  return downOnto(start, level, [0, 1, 0], long, start[1] - height);
}

function downOnto(start: Vector, along: Vector, normal: Vector, long: number, drop: number): Vector {
  const down = Math.min(long, Math.max(-long, drop));
  return from(start, [along, Math.sqrt(long ** 2 - down ** 2)], [normal, -down]);
}

function handFrom(elbow: Vector, direction: Vector): Pick<Arm, 'wrist' | 'hand'> {
  const wrist = from(elbow, [direction, lengths.forearm]);
  return { wrist, hand: from(wrist, [direction, lengths.hand]) };
}

/** A hand lies along what it holds. */
function handToward(wrist: Vector, elbow: Vector, { pelvis }: Trunk, side: Side, target: string): Vector {
  const forearm = unit(subtract(wrist, elbow));
  const inward = scale(pelvis.right, -sign(side));
  if (target === 'edge') return from(wrist, [[0, 0, 1], lengths.hand]);
  if (target === 'temple') return from(wrist, [unit(add(inward, scale(pelvis.front, -0.5))), lengths.hand]);
  const lies = target === 'belly' ? 0.75 : target === 'ribs' ? 0.55 : 0.3;
  const along = unit(add(scale(forearm, 1 - lies), scale(inward, lies)));
  const level = dot(along, pelvis.front) < 0 ? across(along, pelvis.front) : along;
  return from(wrist, [unit(level), lengths.hand]);
}

function within(root: Vector, at: Vector, most: number): Vector {
  return distance(root, at) <= most ? at : from(root, [unit(subtract(at, root)), most]);
}

/** Where the wrist goes, and where the elbow points. */
function targetOf(
  target: Extract<ArmPose, { on: 'body' }>['hand'],
  side: Side,
  { points, pelvis, head }: Trunk,
  { hip, knee }: Leg,
): { at: Vector; pole: Vector } {
  const outward = scale(pelvis.right, sign(side));
  const down = scale(pelvis.front, -1);
  const restingElbow = from(scale(outward, 1), [down, 1.2]);
  const onFront = (point: Vector, depth: number, aside: number) =>
    from(point, [pelvis.front, cm(depth + radii.wrist)], [outward, cm(aside)]);
  switch (target) {
    case 'belly':
      return {
        at: onFront(middle(points.waist, points.pelvis), girths.waist.depth, 0.055),
        pole: restingElbow,
      };
    case 'ribs':
      return {
        at: onFront(middle(points.chest, points.waist), girths.chest.depth * 0.5, 0.125),
        pole: from(outward, [down, 0.45]),
      };
    case 'thigh':
      return {
        at: from(hip, [unit(subtract(knee, hip)), lengths.thigh * 0.55], [pelvis.front, cm(0.05)]),
        pole: restingElbow,
      };
    case 'behind-knee':
    case 'behind-other-knee':
      return {
        at: from(knee, [unit(subtract(hip, knee)), lengths.thigh * 0.3], [outward, cm(0.01)]),
        pole: restingElbow,
      };
    case 'pelvis':
      return { at: onFront(points.pelvis, girths.pelvis.depth * 0.7, 0.085), pole: restingElbow };
    case 'opposite-shoulder':
      return { at: from(points.upper, [outward, -cm(0.09)], [pelvis.front, cm(0.05)]), pole: pelvis.front };
    case 'temple':
      return {
        at: from(
          points.head,
          [head.cranial, cm(0.02)],
          [outward, cm(0.12)],
          [head.front, cm(girths.head.depth) * 0.25],
        ),
        pole: head.front,
      };
    case 'edge':
      return {
        at: from(points.pelvis, [outward, cm(0.15)], [pelvis.cranial, -cm(0.045)], [pelvis.front, -cm(0.03)]),
        pole: scale(pelvis.front, -1),
      };
  }
}
