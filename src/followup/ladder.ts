import { doseUnder, lowestCeiling } from '../program/adapt.js';
import type { PrescribedExercise } from '../program/prescribed.js';

/** A full dose, by key. */
export type Dose = Readonly<Record<string, number>>;

/** The position of a dose: rung 0 is the starting dose, rung n is step n. */
type LadderPlace =
  | { kind: 'no-steps' }
  | { kind: 'below' }
  | { kind: 'on'; rung: number; isTop: boolean }
  | { kind: 'between'; below: number; above: number }
  | { kind: 'above' }
  /** More of one thing and less of another than any rung: no step follows from it. */
  | { kind: 'off' };

/** The dose next to the current one, and the name of its step; null for the starting dose. */
type Rung = { dose: Dose; name: string | null };

/** A ceiling that a precaution sets on one number of a dose. */
export type DoseLimit = { precaution: string; key: string; ceiling: number };

export type OnLadder = {
  place: LadderPlace;
  /** Null at the top, above it, off the ladder, and where a ceiling prevents it. */
  next: Rung | null;
  /** Null at the bottom, below it, off the ladder, and if nothing in the actual dose would decrease. */
  previous: Rung | null;
  /** The ceilings that prevent the next step. */
  limits: readonly DoseLimit[];
};

/**
 * Rule ADV-6: where a prescribed dose is on its exercise's ladder, and what is next to it. Only the numbers that the
 * ladder changes are compared and changed: a longer rest or a slower pace that a clinician chose stays. Off the rungs,
 * the next dose is never less of anything than the current one, and the previous one never more.
 *
 * With ceilings from precautions, no step up raises a number above one, because what is done would differ from what was
 * signed; the step down is the first one that reduces what is done.
 */
export function onLadder(prescribed: PrescribedExercise): OnLadder {
  const { exercise } = prescribed;
  const steps: readonly { name: string; dose: Readonly<Record<string, number | undefined>> }[] =
    exercise.ladder.steps;
  const present: Dose = prescribed.asPrescribed.dose;
  if (steps.length === 0) return { place: { kind: 'no-steps' }, next: null, previous: null, limits: [] };
  const base: Dose = exercise.dose;
  const moved = [...new Set(steps.flatMap(({ dose }) => Object.keys(dose)))];
  const rungOf = (name: string | null, dose: Readonly<Record<string, number | undefined>>): Rung => {
    const numbers = moved.map((key) => [key, dose[key] ?? base[key] ?? 0] as const);
    return { name, dose: { ...present, ...Object.fromEntries(numbers) } };
  };
  const rungs = [rungOf(null, {}), ...steps.map(({ name, dose }) => rungOf(name, dose))];
  const place = placeOf(present, rungs);
  const within = (rung: Rung | undefined) =>
    rung !== undefined && isWithin(rung.dose, exercise.limits) ? rung : null;
  const next = within(rungs[nextIndex(place)]);
  const lower = rungs.slice(0, previousIndex(place, rungs.length) + 1).reverse();
  const limits = next === null ? [] : limitsOn(next.dose, prescribed);
  return {
    place,
    next: limits.length === 0 ? next : null,
    previous: lower.map(within).find((rung) => rung !== null && doesLess(rung.dose, prescribed)) ?? null,
    limits,
  };
}

/** The lowest ceiling on each number that a dose would exceed. */
function limitsOn(dose: Dose, { asPrescribed, adaptations }: PrescribedExercise): DoseLimit[] {
  const present: Dose = asPrescribed.dose;
  return Object.entries(dose).flatMap(([key, value]): DoseLimit[] => {
    const ceiling = lowestCeiling(key, adaptations);
    if (ceiling === null || value <= ceiling || value <= (present[key] ?? 0)) return [];
    const whose = adaptations.find(({ adaptation }) => {
      const atMost: Readonly<Record<string, number | undefined>> = adaptation.atMost ?? {};
      return atMost[key] === ceiling;
    });
    return [{ precaution: whose?.precaution ?? '', key, ceiling }];
  });
}

/** Whether another prescribed dose would reduce what is actually done. */
function doesLess(dose: Dose, { exercise, adaptations, dose: done }: PrescribedExercise): boolean {
  const now: Dose = done;
  return Object.entries(doseUnder(dose, exercise.limits, adaptations)).some(
    ([key, value]) => value < (now[key] ?? value),
  );
}

function placeOf(present: Dose, rungs: readonly Rung[]): LadderPlace {
  const atMost = (a: Dose, b: Dose) => Object.keys(a).every((key) => (a[key] ?? 0) <= (b[key] ?? 0));
  const on = rungs.findIndex(({ dose }) => atMost(dose, present) && atMost(present, dose));
  if (on >= 0) return { kind: 'on', rung: on, isTop: on === rungs.length - 1 };
  const below = rungs.findLastIndex(({ dose }) => atMost(dose, present));
  const above = rungs.findIndex(({ dose }) => atMost(present, dose));
  if (below === rungs.length - 1) return { kind: 'above' };
  if (above === 0) return { kind: 'below' };
  return below >= 0 && above >= 0 ? { kind: 'between', below, above } : { kind: 'off' };
}

/** -1 for none. */
function nextIndex(place: LadderPlace): number {
  if (place.kind === 'below') return 0;
  if (place.kind === 'on') return place.rung + 1;
  return place.kind === 'between' ? place.above : -1;
}

/** -1 for none. */
function previousIndex(place: LadderPlace, rungCount: number): number {
  if (place.kind === 'on') return place.rung - 1;
  if (place.kind === 'above') return rungCount - 1;
  return place.kind === 'between' ? place.below : -1;
}

function isWithin(dose: Dose, limits: Readonly<Record<string, { min: number; max: number }>>): boolean {
  return Object.entries(dose).every(([key, value]) => {
    const range = limits[key];
    return range === undefined || (value >= range.min && value <= range.max);
  });
}
