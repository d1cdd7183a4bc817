import type { Position } from '../catalogue/posture.js';
import type { Exercise } from '../catalogue/schema.js';
import type { Problem } from '../errors/stillcountError.js';

/** The height level of each position: standing, sitting, lying. */
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

/** An exercise that leads the listener up or down, and its index in the program. */
type Leads = { index: number; name: string };
/** The listener's position, and the earlier exercises that led up from lying and down onto the bed. */
type Way = { position: Position; rise: Leads | null; descent: Leads | null };
/** Why an exercise cannot follow, and the exercise it conflicts with, if any. */
type Fault = { why: string; beside: Leads | null };

/**
 * Walks through the positions of a program, from standing beside the bed to where its last exercise ends. The session
 * itself leads lying down and turning in bed; an exercise leads getting up, once, and nothing after it leads back to
 * lying.
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

/** Returns the faults by the index of each exercise that cannot follow the one before it. */
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
 * Returns the index of the first exercise that leads up from lying, before which another exercise is added; the number
 * of exercises where there is none.
 */
function firstRiseIndex(exercises: readonly (Exercise | undefined)[]): number {
  const index = exercises.findIndex((exercise) => exercise !== undefined && risesBy(exercise) > 0);
  return index === -1 ? exercises.length : index;
}

/**
 * Returns the index at which to add an exercise to a program: one that leads down goes first, one that leads up or is
 * done upright goes last, and any other goes before getting out of bed.
 *
 * @param exercises the program's exercises; undefined for one that the catalogue does not know
 */
export function placeToAdd(exercises: readonly (Exercise | undefined)[], added: Exercise): number {
  const rise = risesBy(added);
  if (rise < 0) return 0;
  const isUpright = heights[added.path.from.position] > 0;
  return rise > 0 || isUpright ? exercises.length : firstRiseIndex(exercises);
}

/** Returns a number above 0 for an exercise that leads up, below 0 for one that leads down. */
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

/**
 * Says where an exercise could go, or which of two has to be removed. Each suggestion is tried first, so that following
 * it works.
 */
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
