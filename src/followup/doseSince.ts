import type { PrescribedExercise } from '../program/prescribed.js';
import type { VersionHistory } from './history.js';

/** Since when an exercise of the newest version has had its dose. */
export type DoseSince = {
  prescribed: PrescribedExercise;
  /** The first of the consecutive versions that prescribe the same. */
  sinceVersion: number;
  sinceMs: number;
  /** Where it ends in a usual session of the newest version; null if unknown. */
  endsAtMs: number | null;
};

/**
 * When each exercise's dose last changed. The side is part of the dose, because half of the work depends on it. An
 * exercise that was removed and came back starts over, and whatever today's catalogue can no longer represent counts as
 * different.
 *
 * @param versions oldest first, at least one
 * @returns null if today's catalogue cannot represent the newest version
 */
export function dosesSince(versions: readonly VersionHistory[]): DoseSince[] | null {
  const newest = versions.at(-1);
  if (newest === undefined || newest.exercises === null) return null;
  const doses = versions.map(({ exercises }) => dosesByKey(exercises ?? []));
  return keyed(newest.exercises).map(([key, prescribed]) => {
    const now = doseText(prescribed);
    const differs = doses.findLastIndex((each) => each.get(key) !== now);
    const since = versions[differs + 1] ?? newest;
    return {
      prescribed,
      sinceVersion: since.number,
      sinceMs: since.signedAtMs,
      endsAtMs: newest.exerciseEndsMs[prescribed.index] ?? null,
    };
  });
}

function dosesByKey(exercises: readonly PrescribedExercise[]): Map<string, string> {
  return new Map(keyed(exercises).map(([key, prescribed]) => [key, doseText(prescribed)]));
}

/** By id and occurrence, so that two of a kind stay separate. */
function keyed(exercises: readonly PrescribedExercise[]): [string, PrescribedExercise][] {
  const seen = new Map<string, number>();
  return exercises.map((prescribed) => {
    const { id } = prescribed.exercise;
    const count = (seen.get(id) ?? 0) + 1;
    seen.set(id, count);
    return [`${id} ${count}`, prescribed];
  });
}

/** The prescribed and the actual dose: adding or removing a ceiling also changes the dose. */
function doseText({ dose, asPrescribed, side }: PrescribedExercise): string {
  const entries = [dose, asPrescribed.dose].map((each) =>
    Object.entries(each).sort(([a], [b]) => (a < b ? -1 : 1)),
  );
  return JSON.stringify([entries, side]);
}
