/** Body height of the drawn figure, in centimeters. Proportions do not depend on it, but the size of props does not scale. */
export const statureCm = 160;

/**
 * Segment lengths as shares of stature: Drillis and Contini 1966, as given in Winter, Biomechanics and Motor Control of
 * Human Movement. `foot` is its length, `ankle` the height of the ankle over the sole.
 */
export const shares = {
  upperArm: 0.186,
  forearm: 0.146,
  hand: 0.108,
  thigh: 0.245,
  shank: 0.246,
  foot: 0.152,
  ankle: 0.039,
  trunk: 0.288,
  headHeight: 0.13,
} as const;

export const cm = (share: number): number => share * statureCm;

export const lengths = {
  upperArm: cm(shares.upperArm),
  forearm: cm(shares.forearm),
  /** A hand at rest is half open. */
  hand: cm(shares.hand) * 0.78,
  thigh: cm(shares.thigh),
  shank: cm(shares.shank),
  /** From the ankle to the ball of the great toe, and back to the heel. */
  forefoot: cm(shares.foot) * 0.7,
  heel: cm(shares.foot) * 0.22,
  ankle: cm(shares.ankle),
} as const;

/**
 * Half the depth, front to back, and half the width of the trunk and the head, as shares of stature; chosen by
 * eye to look like a dressed older person. Our choice; no published source.
 */
export const girths = {
  pelvis: { depth: 0.062, width: 0.098 },
  waist: { depth: 0.058, width: 0.086 },
  chest: { depth: 0.068, width: 0.098 },
  upper: { depth: 0.05, width: 0.112 },
  neck: { depth: 0.032, width: 0.032 },
  head: { depth: 0.06, width: 0.047 },
} as const;

/** Radii of the limbs at their joints, as shares of stature. Our choice; no published source. */
export const radii = {
  shoulder: 0.032,
  elbow: 0.0235,
  wrist: 0.0165,
  fingers: 0.011,
  fist: 0.024,
  hip: 0.05,
  knee: 0.033,
  ankle: 0.022,
  heel: 0.0175,
  toe: 0.0115,
} as const;

/** Where the joints lie from the middle of the trunk to each side: half the width between them, as a share of stature. */
export const jointOffsets = { shoulder: 0.118, hip: 0.06 } as const;

/** From joint to joint along the spine, from the pelvis up, as shares of stature: their sum is the trunk and the neck. */
export const spine = {
  lumbar: 0.1,
  lower: 0.096,
  upper: 0.092,
  root: 0.022,
  neck: 0.044,
  skull: 0.05,
} as const;

/**
 * How far joints go in degrees: normal values of the American Academy of Orthopaedic Surgeons as repeated in textbooks
 * of goniometry; given here from memory.
 */
export const ranges = {
  hipFlexion: [-20, 120],
  hipAbduction: [-30, 45],
  kneeFlexion: [0, 135],
  ankleDorsiflexion: [-50, 20],
  shoulderFlexion: [-60, 180],
  shoulderAbduction: [-50, 180],
  elbowFlexion: [0, 150],
  neckRotation: [-60, 60],
  neckFlexion: [-45, 45],
} as const;
