import type { AppliedAdaptation } from '../program/prescribed.js';
import { isFollowed, type Settlements } from '../screening/settlements.js';

/**
 * Lists the adaptations that settlements make to their program: those of the rules that are followed, as stored with
 * the settlements. A rule that was settled with a reason to do otherwise changes nothing, and neither does one that was
 * signed before rules could change programs, because the session does not change without a signature.
 */
export function listAppliedAdaptations(settlements: Settlements): AppliedAdaptation[] {
  return Object.entries(settlements).flatMap(([ruleId, settlement]): AppliedAdaptation[] => {
    const { rule } = settlement;
    if (rule?.adapt === undefined || rule.measure === 'leave-out' || !isFollowed(settlement)) return [];
    const { precaution, measure, adapt: adaptation, meets: exercises = [] } = rule;
    return [{ ruleId, precaution, measure, adaptation, exercises }];
  });
}
