import type { ChangeName } from '../catalogue/changeWords.js';
import type { LegPosture, Position } from '../catalogue/posture.js';
import type { PrescribedExercise, PrescribedProgram } from '../program/prescribed.js';
import type { Side } from './timedScript.js';

/** The listener's posture. Legs matter only when lying on the back. */
export type Posture = {
  position: Position;
  legs: LegPosture;
  /** The straight leg of `one-bent`; null otherwise. */
  straightSide: Side | null;
};

/**
 * One change that the session leads the listener through, and the side that its words name. `settling` needs no time of
 * its own.
 */
export type Change = { name: ChangeName | 'settling'; side: Side | null };

/** One exercise of the walk: the changes that lead into its posture, and the posture in which its work begins. */
export type Step = {
  changes: readonly Change[];
  posture: Posture;
  /** Whether the legs depend on the side: the working leg lies straight. */
  followsSide: boolean;
};

export type Walk = {
  /** The changes for lying down, where the first exercise is done lying. */
  opening: readonly Change[];
  /** One step per exercise. */
  steps: readonly Step[];
  /** The posture in which the last exercise leaves the listener. */
  end: Posture;
};

const standing: Posture = { position: 'standing', legs: 'bent', straightSide: null };

/**
 * Walks a program from standing beside the bed through the postures of its exercises, and finds the changes that the
 * session must lead because no exercise does.
 *
 * @throws RangeError for an order of exercises that `pathProblems` rejects
 */
export function walk(program: Pick<PrescribedProgram, 'exercises'>): Walk {
  let posture = standing;
  let hasSettled = false;
  const opening: Change[] = [];
  const steps = program.exercises.map((prescribed, index): Step => {
    const moved = toPosition(posture, prescribed.exercise.path.from.position);
    const isFirstOnBack = !hasSettled && moved.posture.position === 'supine';
    hasSettled ||= isFirstOnBack;
    const positionChanges: Change[] = isFirstOnBack
      ? [...moved.changes, { name: 'settling', side: null }]
      : moved.changes;
    const startsLying = index === 0 && isLying(moved.posture.position);
    if (startsLying) opening.push(...positionChanges);
    const wanted = startingPosture(prescribed, moved.posture);
    const legs = legChanges(moved.posture, wanted);
    const followsSide =
      wanted.legs === 'one-bent' && prescribed.exercise.path.from.legs?.includes('one-bent') === true;
    posture = endPosture(prescribed, wanted, followsSide);
    return { changes: startsLying ? legs : [...positionChanges, ...legs], posture: wanted, followsSide };
  });
  return { opening, steps, end: posture };
}

/** Returns the leg changes between two sides of one exercise. */
export function changesOfSide({ posture, followsSide }: Step, previous: Side, next: Side): Change[] {
  if (!followsSide) return [];
  return legChanges({ ...posture, straightSide: previous }, { ...posture, straightSide: next });
}

/** Returns whether this is a lying position. */
export function isLying(position: Position): boolean {
  return position === 'supine' || position === 'side-lying';
}

function toPosition(from: Posture, position: Position): { changes: Change[]; posture: Posture } {
  const posture: Posture = { position, legs: 'bent', straightSide: null };
  const led = (...names: ChangeName[]) => ({ changes: names.map(unsided), posture });
  switch (`${from.position} > ${position}` as const) {
    case 'standing > standing':
    case 'sitting-on-edge > sitting-on-edge':
    case 'side-lying > side-lying':
    case 'supine > supine':
      return { changes: [], posture: from };
    case 'standing > supine':
      return led('lyingDown');
    case 'standing > sitting-on-edge':
      return led('sittingDown');
    case 'standing > side-lying':
      return led('sittingDown', 'loweringToSide');
    case 'sitting-on-edge > side-lying':
      return led('loweringToSide');
    case 'sitting-on-edge > supine':
      return led('loweringToSide', 'rollingToBack');
    case 'side-lying > supine':
      return led('rollingToBack');
    case 'supine > side-lying': {
      // The listener never rolls with a pillow under the knees or with straight legs, so the legs change first.
      const changes = [...legChanges(from, posture), unsided('rollingToSide')];
      return { changes, posture };
    }
    default:
      throw new RangeError(`no session leads from ${from.position} to ${position}`);
  }
}

/**
 * Returns the posture in which the work begins. The legs are as in this person's set-up if the exercise allows it, else
 * as they already are if it allows that, else as the exercise prefers.
 */
function startingPosture(prescribed: PrescribedExercise, moved: Posture): Posture {
  if (moved.position !== 'supine') return moved;
  const { from, to } = prescribed.exercise.path;
  const leaves = to !== undefined && to.position !== 'supine';
  const allowed = from.legs;
  if (allowed === undefined) {
    // A pillow left under the knees gets in the way of turning, and then ends up on the floor.
    return leaves && moved.legs === 'over-pillow' ? { ...moved, legs: 'bent' } : moved;
  }
  const wanted = [prescribed.setUp.knees, moved.legs].find((legs) => allowed.includes(legs));
  const legs = wanted ?? allowed[0] ?? moved.legs;
  return { ...moved, legs, straightSide: legs === 'one-bent' ? firstSide(prescribed) : null };
}

function endPosture(prescribed: PrescribedExercise, started: Posture, followsSide: boolean): Posture {
  const { to } = prescribed.exercise.path;
  const position = to?.position ?? started.position;
  const legs = to?.legs ?? (position === started.position ? started.legs : 'bent');
  if (legs !== 'one-bent') return { position, legs, straightSide: null };
  const isOwn = followsSide || to?.legs === 'one-bent';
  return { position, legs, straightSide: isOwn ? lastSide(prescribed) : started.straightSide };
}

/** Returns the side that is done last; of two sides, the left is done first. */
function lastSide({ side }: PrescribedExercise): Side {
  return side === 'left' ? 'left' : 'right';
}

function firstSide({ side }: PrescribedExercise): Side {
  return side === 'right' ? 'right' : 'left';
}

function legChanges(from: Posture, to: Posture): Change[] {
  if (from.legs === to.legs && from.straightSide === to.straightSide) return [];
  if (to.legs === 'over-pillow') return [unsided('placingKneePillow')];
  if (from.legs === 'over-pillow') {
    const bent: Posture = { ...from, legs: 'bent', straightSide: null };
    return [unsided('removingKneePillow'), ...legChanges(bent, to)];
  }
  return [{ name: legChange(from.legs, to.legs), side: to.straightSide ?? from.straightSide }];
}

type WithoutPillow = Exclude<LegPosture, 'over-pillow'>;

const legChangeNames: Readonly<Record<WithoutPillow, Readonly<Record<WithoutPillow, ChangeName>>>> = {
  bent: { bent: 'bendingKnees', straight: 'straighteningLegs', 'one-bent': 'straighteningOneLeg' },
  straight: { bent: 'bendingKnees', straight: 'straighteningLegs', 'one-bent': 'bendingOneKnee' },
  'one-bent': {
    bent: 'bendingBothFromOne',
    straight: 'straighteningBothFromOne',
    'one-bent': 'changingLegs',
  },
};

function legChange(from: WithoutPillow, to: WithoutPillow): ChangeName {
  return legChangeNames[from][to];
}

function unsided(name: ChangeName): Change {
  return { name, side: null };
}
