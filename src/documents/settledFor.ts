import { effectInWords } from '../prescription/adaptationWords.js';
import type { ReadPrescription } from '../prescription/content.js';
import { effectsOf } from '../program/adaptationEffects.js';
import type { PrescribedExercise } from '../program/prescribed.js';
import { hasText } from '../screening/hasText.js';
import { isFollowed, type Settlement } from '../screening/settlements.js';
import { dayInWords } from './dayInWords.js';

/** A precaution of this person as it was settled for an exercise, for whoever is to do it. */
export type SettledLine = {
  ruleId: string;
  /** By its name; several by their names where they ask for the same. */
  precaution: string;
  /** Who allowed it, and when; null where no one had to. */
  cleared: { by: string; on: string } | null;
  /** What to keep to; null where the clearance is all that there is to say. */
  text: string | null;
};

/**
 * The precautions of this person that meet an exercise, as they were settled. What was settled with a reason to do
 * otherwise has nothing to keep to, and nothing that is said to people in general stands here.
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
        // How a clearance is asked for is meant for the clinician; how a thing is done, for both.
        text: rule.adapt?.print ?? (isCleared ? null : rule.how),
      },
    ];
  });
}

/** The same said once: lines of several precautions that ask for the same, in one. What was cleared keeps its own. */
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

/** A version from before kept only the exercises that it was settled for. */
function isAbout({ rule, exercises }: Settlement, exerciseId: string): boolean {
  return (rule?.meets ?? exercises).includes(exerciseId);
}

/** What is done otherwise in an exercise because of precautions, for clinicians. */
export function reportAdaptations(prescribed: PrescribedExercise): { precaution: string; changes: string }[] {
  return effectsOf(prescribed).flatMap((effect) => {
    const changes = effectInWords(effect).join('; ');
    return changes === '' ? [] : [{ precaution: effect.precaution, changes }];
  });
}

/** How a settlement ended, in the full description: carried out, allowed, or done otherwise and why. */
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
