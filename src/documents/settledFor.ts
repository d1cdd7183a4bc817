import { effectInWords } from '../prescription/adaptationWords.js';
import type { ReadPrescription } from '../prescription/content.js';
import { effectsOf } from '../program/adaptationEffects.js';
import type { PrescribedExercise } from '../program/prescribed.js';
import { hasText } from '../screening/hasText.js';
import { isFollowed, type Settlement } from '../screening/settlements.js';
import { dayInWords } from './dayInWords.js';

/** A patient's settled precaution for an exercise, in the patient's words. */
export type SettledLine = {
  ruleId: string;
  /** Its name, or several names where precautions ask for the same. */
  precaution: string;
  /** Who gave clearance, and when; null where none was needed. */
  cleared: { by: string; on: string } | null;
  /** What the patient has to observe; null where there is only a clearance. */
  text: string | null;
};

/**
 * Returns the patient's settled precautions that apply to an exercise. A precaution settled with a reason to do
 * otherwise has nothing to observe, and advice for everyone is not included here.
 */
export function listSettledLines(
  { settlements }: Pick<ReadPrescription, 'settlements'>,
  exerciseId: string,
): SettledLine[] {
  return Object.entries(settlements).flatMap(([ruleId, settlement]) => {
    const { rule, clearedBy, clearedOn } = settlement;
    if (!isAbout(settlement, exerciseId) || rule === undefined || !isFollowed(settlement)) return [];
    const isCleared = rule.measure === 'clearance';
    return [
      {
        ruleId,
        precaution: rule.precaution,
        cleared: isCleared ? { by: clearedBy, on: dayInWords(clearedOn) } : null,
        // How to get a clearance concerns only the clinician; how to do an exercise concerns both.
        text: rule.adapt?.print ?? (isCleared ? null : rule.how),
      },
    ];
  });
}

/**
 * Merges the lines of several precautions that ask for the same into one. A precaution with a clearance keeps its own
 * line.
 */
export function mergeSettledLines(lines: readonly SettledLine[]): SettledLine[] {
  const merged: SettledLine[] = [];
  for (const line of lines) {
    const same = merged.find(({ text, cleared }) => cleared === null && text === line.text);
    if (same === undefined || line.cleared !== null) merged.push({ ...line });
    else if (!same.precaution.split('; ').includes(line.precaution))
      same.precaution += `; ${line.precaution}`;
  }
  return merged;
}

/**
 * Returns whether a settlement applies to an exercise. Earlier versions stored only the exercises it was settled for.
 */
function isAbout({ rule, exercises }: Settlement, exerciseId: string): boolean {
  return (rule?.meets ?? exercises).includes(exerciseId);
}

/** Returns how precautions modify an exercise, for clinicians. */
export function reportAdaptations(prescribed: PrescribedExercise): { precaution: string; changes: string }[] {
  return effectsOf(prescribed).flatMap((effect) => {
    const changes = effectInWords(effect).join('; ');
    return changes === '' ? [] : [{ precaution: effect.precaution, changes }];
  });
}

/** Returns the result of a settlement for the full description: carried out, cleared, or done otherwise and why. */
export function reportSettlement(id: string, settlement: Settlement): object {
  const { rule, reason, clearedBy, clearedOn } = settlement;
  const isDeclined = hasText(reason);
  return {
    precaution: rule?.precaution ?? id,
    how: rule?.how ?? '',
    reason,
    isDeclined,
    isCarriedOut: isFollowed(settlement) && rule?.adapt !== undefined,
    cleared:
      isDeclined || clearedBy === '' || clearedOn === ''
        ? null
        : { by: clearedBy, on: dayInWords(clearedOn) },
  };
}
