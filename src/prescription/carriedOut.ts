import type { AppliedAdaptation } from '../program/prescribed.js';
import { isFollowed, type Settlements } from '../screening/settlements.js';

/**
 * What settlements change in their program: the adaptations of the rules that are followed, as they were kept with
 * them. A rule that was settled with a reason to do otherwise changes nothing, and neither does one that was signed
 * before rules changed programs: what someone hears does not change without a signature.
 */
export function listAppliedAdaptations(settlements: Settlements): AppliedAdaptation[] {
  return Object.entries(settlements).flatMap(([ruleId, settlement]): AppliedAdaptation[] => {
    const { rule } = settlement;
    if (rule?.adapt === undefined || rule.measure === 'leave-out' || !isFollowed(settlement)) return [];
    const { precaution, measure, adapt: adaptation, meets: exercises = [] } = rule;
    return [{ ruleId, precaution, measure, adaptation, exercises }];
  });
}
