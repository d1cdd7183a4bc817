import type { Position } from '../catalogue/posture.js';
import type { Exercise } from '../catalogue/schema.js';
import type { Problem } from '../errors/stillcountError.js';

/** How far down a position is: standing, sitting, lying. */
const heights: Readonly<Record<Position, number>> = {
  standing: 2,
  'sitting-on-edge': 1,
  'side-lying': 0,
  supine: 0,
};

const inWords: Readonly<Record<Position, string>> = {
  standing: 'standing',
  'sitting-on-edge': 'sitting on the edge of the bed',
  'side-lying': 'lying on the side',
  supine: 'lying on the back',
};

/** An exercise that gets the listener up, or down, and where it stands in the program. */
type Leads = { index: number; name: string };
/** Where the listener is, and what led out of lying and down onto the bed before. */
type Way = { position: Position; rise: Leads | null; descent: Leads | null };
/** Why an exercise cannot follow, and what it cannot stand beside; null where nothing stands against it. */
type Fault = { why: string; beside: Leads | null };

/**
 * Walks the positions of a program, from standing beside the bed to where its last exercise ends. Lying down and
 * turning in bed are led by the session itself; getting up is led by an exercise, once, and nothing lies down after it.
 *
 * @returns a problem for every exercise that cannot follow the one before it
 */
export function pathProblems(exercises: readonly Exercise[]): Problem[] {
  const faults = faultsOf(exercises);
  return [...faults].map(([index, { fault, position }]): Problem => {
    const exercise = exercises[index];
    return {
      path: `exercises[${index}].exercise`,
      message: `“${exercise?.name}” starts ${inWords[exercise?.path.from.position ?? position]}${fault.why}`,
      found: `place ${index + 1}, ${inWords[position]}`,
      allowed: allowedInstead(exercises, index, fault, faults.size),
    };
  });
}

type Faults = ReadonlyMap<number, { fault: Fault; position: Position }>;

/** By the place of each exercise that cannot follow the one before it. */
function faultsOf(exercises: readonly Exercise[]): Faults {
  const faults = new Map<number, { fault: Fault; position: Position }>();
  let way: Way = { position: 'standing', rise: null, descent: null };
  exercises.forEach((exercise, index) => {
    const fault = faultAt(exercise, way);
    if (fault !== null) {
      faults.set(index, { fault, position: way.position });
      return;
    }
    const { from, to } = exercise.path;
    const leads = { index, name: exercise.name };
    const rises = risesBy(exercise);
    way = {
      position: to?.position ?? from.position,
      rise: rises > 0 ? leads : way.rise,
      descent: rises < 0 ? leads : way.descent,
    };
  });
  return faults;
}

/**
 * The place of the first exercise that leads out of lying, before which another exercise is added; the number of
 * exercises where there is none.
 */
function firstRiseIndex(exercises: readonly (Exercise | undefined)[]): number {
  const index = exercises.findIndex((exercise) => exercise !== undefined && risesBy(exercise) > 0);
  return index === -1 ? exercises.length : index;
}

/**
 * Where an exercise is added to a program: what leads down goes first, what leads out or is done upright goes last, and
 * everything else before the way out of bed.
 *
 * @param exercises of the program; undefined for one that the catalogue does not know
 */
export function placeToAdd(exercises: readonly (Exercise | undefined)[], added: Exercise): number {
  const rise = risesBy(added);
  if (rise < 0) return 0;
  const isUpright = heights[added.path.from.position] > 0;
  return rise > 0 || isUpright ? exercises.length : firstRiseIndex(exercises);
}

/** Above 0 for what gets the listener up, below 0 for what leads down. */
function risesBy({ path: { from, to } }: Exercise): number {
  return to === undefined ? 0 : heights[to.position] - heights[from.position];
}

function faultAt(exercise: Exercise, { position, rise, descent }: Way): Fault | null {
  const down = heights[position] - heights[exercise.path.from.position];
  if (rise !== null && (down > 0 || (down === 0 && risesBy(exercise) < 0))) {
    const leadsDown = down > 0 ? '' : ' and leads down again';
    const why = `${leadsDown}, after “${rise.name}” has led the listener out of lying`;
    return { why, beside: down > 0 ? rise : (descent ?? rise) };
  }
  if (down >= 0) return null;
  return risesBy(exercise) < 0
    ? { why: ' and leads down, and the listener is down already', beside: descent }
    : { why: ', and nothing before it leads there', beside: rise };
}

/** Where an exercise could stand, or which of two has to go: tried, so that what is said can be followed. */
function allowedInstead(
  exercises: readonly Exercise[],
  index: number,
  { beside }: Fault,
  faults: number,
): string {
  const places = exercises.flatMap((_, place) => {
    const moved = movedTo(exercises, index, place);
    return faultsOf(moved).size < faults ? [place] : [];
  });
  const [first] = places;
  if (beside !== null && places.includes(beside.index)) {
    return `a place before “${beside.name}”, at most place ${beside.index + 1}`;
  }
  if (first !== undefined) return `place ${first + 1}`;
  return beside === null
    ? 'a place after an exercise that ends there'
    : `one of the two, this or “${beside.name}”`;
}

function movedTo(exercises: readonly Exercise[], from: number, to: number): Exercise[] {
  const moved = exercises.filter((_, index) => index !== from);
  return [...moved.slice(0, to), ...exercises.slice(from, from + 1), ...moved.slice(to)];
}
