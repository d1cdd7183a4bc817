import type { Pose, PoseChange } from './pose.js';
import type { FigureSpec, MarkedPose } from './spec.js';
import type { Lying } from './trunk.js';

/** The set-up of a program that affects how a patient lies. */
export type Support = {
  headSupport: 'none' | 'folded-towel' | 'thin-pillow' | 'pillow' | 'raised-head-end';
  knees: 'straight' | 'bent' | 'over-pillow';
};

/**
 * Distance from the bed to the back of the head with each support, in centimeters. A support only fills the gap, so a
 * higher one means a more rounded back. Our choice; no published source.
 */
const lyingOn: Readonly<Record<Support['headSupport'], Lying>> = {
  none: { gapCm: 0.5, inclineDegrees: 0 },
  'folded-towel': { gapCm: 4, inclineDegrees: 0 },
  'thin-pillow': { gapCm: 7, inclineDegrees: 0 },
  pillow: { gapCm: 11, inclineDegrees: 0 },
  'raised-head-end': { gapCm: 4, inclineDegrees: 30 },
};

const legsAtRest: Readonly<Record<Support['knees'], Pose['legs']>> = {
  straight: { both: { on: 'heel', kneeDegrees: 4, outDegrees: 0, ankleDegrees: 0 } },
  bent: { both: { on: 'sole', kneeDegrees: 90, outDegrees: 0 } },
  'over-pillow': { both: { on: 'heel', kneeDegrees: 35, outDegrees: 0, ankleDegrees: 0 } },
};

export function lyingWith({ headSupport }: Support): Lying {
  return lyingOn[headSupport];
}

/** A pose in full, with the marks drawn around it. */
export type FullPose = Omit<MarkedPose, 'pose'> & { pose: Pose };

/** Completes every pose of a figure: what a pose does not change is taken from the previous one. */
export function fullPoses({ poses }: FigureSpec, { knees }: Pick<Support, 'knees'>): FullPose[] {
  let pose: Pose = {
    trunk: { is: 'lying', liftDegrees: 0 },
    legs: legsAtRest[knees],
    arms: { both: { on: 'bed', outDegrees: 20, elbowDegrees: 6, forearm: 'flat', openDegrees: 0 } },
    hands: 'open',
    head: { turnDegrees: 0, tuckDegrees: 0 },
    ankleDegrees: 0,
  };
  return poses.map((marked) => {
    pose = changed(pose, marked.pose);
    return { ...marked, pose };
  });
}

function changed(pose: Pose, change: PoseChange): Pose {
  return {
    trunk: change.trunk ?? pose.trunk,
    legs: change.legs ?? pose.legs,
    arms: change.arms ?? pose.arms,
    hands: change.hands ?? pose.hands,
    head: change.head ?? pose.head,
    ankleDegrees: change.ankleDegrees ?? pose.ankleDegrees,
  };
}
