import { cm, girths, lengths, spine, statureCm } from './body.js';
import type { TrunkPose } from './pose.js';
import { across, add, cross, from, radians, scale, subtract, turn, unit, type Vector } from './vector.js';

/** Unit vectors toward the head, the front and the right side of a body segment. */
export type Axes = { cranial: Vector; front: Vector; right: Vector };

export type SpinePoint = 'pelvis' | 'waist' | 'chest' | 'upper' | 'root' | 'skull' | 'head';

/** The parameters of lying: head height and incline. */
export type Lying = {
  /** How far the back of the head is from the bed, in centimeters. */
  gapCm: number;
  /** How far the head end of the bed is raised. */
  inclineDegrees: number;
};

export type Trunk = {
  points: Readonly<Record<SpinePoint, Vector>>;
  /** Of the pelvis, the shoulders and the head. */
  pelvis: Axes;
  shoulders: Axes;
  head: Axes;
  /** Of the bed under the back, where somebody lies on it. */
  resting: Pick<Axes, 'cranial' | 'front'>;
  /** How far the back of the head lies above the bed, in centimeters: what a towel fills. */
  headGapCm: number;
  /** The height of the floor, in centimeters over the bed. */
  floorCm: number;
  /** How far the bed under it is raised. */
  inclineDegrees: number;
};

/** Up, from the shoulder of somebody who sits upright. */
const up: Vector = [0, 1, 0];
const toNearSide: Vector = [0, 0, 1];
const toHead: Vector = [-1, 0, 0];

/** Flexion that a neck follows a rounded back with, beside the curve of its own. */
const neckSlopeDegrees = 4;

type Profile = Readonly<Record<SpinePoint, readonly [cranial: number, front: number]>>;

/**
 * The line of the spine of somebody whose upper back is rounded, as seen from the side with the head's own axis along
 * that of the pelvis: the back touches a flat bed at the pelvis and at the height of the shoulder blades, and from there
 * the spine slopes away from it.
 *
 * @param slopeDegrees of the upper back against the bed
 */
function profileOf(slopeDegrees: number): Profile {
  const depth = {
    pelvis: cm(girths.pelvis.depth),
    waist: cm(girths.waist.depth),
    chest: cm(girths.chest.depth),
  };
  const waistFront = depth.waist + statureCm * 0.007 - depth.pelvis;
  const chestFront = depth.chest - depth.pelvis;
  const waist = [reach(cm(spine.lumbar), waistFront), waistFront] as const;
  const chest = [waist[0] + reach(cm(spine.lower), chestFront - waistFront), chestFront] as const;
  const upper = sloped(chest, cm(spine.upper), slopeDegrees);
  const root = sloped(upper, cm(spine.root), slopeDegrees * 1.15);
  const skull = sloped(root, cm(spine.neck), slopeDegrees + neckSlopeDegrees);
  const head = [skull[0] + cm(spine.skull), skull[1] + statureCm * 0.008] as const;
  return { pelvis: [0, 0], waist, chest, upper, root, skull, head };
}

function reach(long: number, aside: number): number {
  return Math.sqrt(long ** 2 - aside ** 2);
}

function sloped([cranial, front]: readonly [number, number], by: number, degrees: number): [number, number] {
  return [cranial + by * Math.cos(radians(degrees)), front + by * Math.sin(radians(degrees))];
}

/** The back of the head over a bed on which the pelvis lies, in centimeters. */
function gapOf({ head }: Profile): number {
  return cm(girths.pelvis.depth) + head[1] - cm(girths.head.depth);
}

/** Cache of profiles by gap: a program uses few gaps, and every pose needs one. */
const profiles = new Map<number, Profile>();
const mostProfiles = 32;

/** @throws RangeError for a gap that no back can have */
function profileWithGap(gapCm: number): Profile {
  const known = profiles.get(gapCm);
  if (known !== undefined) return known;
  if (profiles.size >= mostProfiles) profiles.clear();
  const profile = foundProfile(gapCm);
  profiles.set(gapCm, profile);
  return profile;
}

function foundProfile(gapCm: number): Profile {
  let [low, high] = [-12, 60];
  if (gapCm < gapOf(profileOf(low)) || gapCm > gapOf(profileOf(high)))
    throw new RangeError(`no back leaves ${gapCm} cm under the head`);
  for (let step = 0; step < 16; step += 1) {
    const between = (low + high) / 2;
    if (gapOf(profileOf(between)) < gapCm) low = between;
    else high = between;
  }
  return profileOf((low + high) / 2);
}

/** Places the trunk on its support. */
export function trunkOf(pose: TrunkPose, { gapCm, inclineDegrees }: Lying): Trunk {
  const profile = profileWithGap(gapCm);
  switch (pose.is) {
    case 'lying': {
      const axes = leaning(axesOf(toHead, up), inclineDegrees);
      const placed = placedAt(scale(axes.front, cm(girths.pelvis.depth)), axes, profile);
      return {
        ...lifted(placed, pose.liftDegrees),
        resting: axes,
        headGapCm: gapOf(profile),
        floorCm: 0,
        inclineDegrees,
      };
    }
    case 'side-lying': {
      const axes = axesOf(toHead, toNearSide);
      const placed = placedAt([0, cm(girths.pelvis.width), 0], axes, profile);
      return {
        ...placed,
        resting: axes,
        headGapCm: placed.points.head[1] - cm(girths.head.width),
        floorCm: 0,
        inclineDegrees: 0,
      };
    }
    case 'sitting': {
      const axes = leaning(axesOf(up, toNearSide), pose.leanDegrees);
      const bottom = cm(girths.pelvis.depth) * 0.9;
      const floorCm = bottom - lengths.shank - lengths.ankle;
      return {
        ...placedAt([0, bottom, 0], axes, profile),
        resting: axes,
        headGapCm: 0,
        floorCm,
        inclineDegrees: 0,
      };
    }
    case 'standing': {
      const axes = leaning(axesOf(up, toNearSide), pose.leanDegrees);
      const floorCm = cm(girths.pelvis.depth) * 0.9 - lengths.shank - lengths.ankle;
      const height = floorCm + lengths.ankle + lengths.shank + lengths.thigh;
      return {
        ...placedAt([0, height, 22], axes, profile),
        resting: axes,
        headGapCm: 0,
        floorCm,
        inclineDegrees: 0,
      };
    }
  }
}

function axesOf(cranial: Vector, front: Vector): Axes {
  return { cranial, front, right: cross(front, cranial) };
}

function leaning({ cranial, front, right }: Axes, degrees: number): Axes {
  // Forward: the head moves toward the front, about the axis that points to the left.
  return { cranial: turn(cranial, right, -degrees), front: turn(front, right, -degrees), right };
}

type Placed = Omit<Trunk, 'resting' | 'headGapCm' | 'floorCm' | 'inclineDegrees'>;

function placedAt(pelvis: Vector, axes: Axes, profile: Profile): Placed {
  const at = ([cranial, front]: readonly [number, number]) =>
    from(pelvis, [axes.cranial, cranial], [axes.front, front]);
  const points = {
    pelvis,
    waist: at(profile.waist),
    chest: at(profile.chest),
    upper: at(profile.upper),
    root: at(profile.root),
    skull: at(profile.skull),
    head: at(profile.head),
  };
  return { points, pelvis: axes, shoulders: shoulderAxes(points, axes), head: axes };
}

/** The shoulders follow the slope of the upper back. */
function shoulderAxes(points: Trunk['points'], axes: Axes): Axes {
  const along = unit(subtract(points.upper, points.chest));
  const cranial = unit(add(scale(along, 0.5), scale(axes.cranial, 0.5)));
  return { cranial, front: unit(across(axes.front, cranial)), right: axes.right };
}

/** The pelvis raised, about the shoulders, which stay where they are. */
function lifted(trunk: Placed, degrees: number) {
  if (degrees === 0) return trunk;
  const { points, pelvis } = trunk;
  const about = (point: Vector) =>
    add(points.upper, turn(subtract(point, points.upper), pelvis.right, degrees));
  return {
    ...trunk,
    points: {
      ...points,
      pelvis: about(points.pelvis),
      waist: about(points.waist),
      chest: about(points.chest),
    },
    pelvis: {
      cranial: turn(pelvis.cranial, pelvis.right, degrees),
      front: turn(pelvis.front, pelvis.right, degrees),
      right: pelvis.right,
    },
  };
}
