import type { Catalogue } from '../../catalogue/catalogue.js';
import type { Finding } from '../../screening/findings.js';
import { isSettled, type Settlements } from '../../screening/settlements.js';
import type { Words } from '../words.js';

/** What the screening asks of this program, each finding with the fields that settle it. */
export function settlingView(
  findings: readonly Finding[],
  settlements: Settlements,
  today: string,
  catalogue: Catalogue,
  words: Words,
): object {
  const open = findings.filter((finding) => !isSettled(finding, settlements, today));
  return {
    hasFindings: findings.length > 0,
    openCount: open.length === 0 ? null : open.length,
    findings: findings.map((finding) => {
      const { rule, precaution, exercises } = finding;
      const settlement = settlements[rule.id];
      const covered = settlement?.exercises ?? exercises;
      const added = exercises.filter((id) => !covered.includes(id));
      const namesOf = (ids: readonly string[]) =>
        ids.map((id) => catalogue.exercises.get(id)?.name ?? id).join(', ');
      return {
        id: rule.id,
        measure: words.measures[rule.measure],
        isStrict: rule.measure !== 'change',
        precaution: precaution.name,
        why: rule.why,
        how: rule.how,
        source: rule.source.text,
        exercises: covered.join(' '),
        names: namesOf(exercises),
        // What she settled before an exercise was added does not silently hold for it.
        added: added.length === 0 ? null : { exercises: added.join(' '), names: namesOf(added) },
        isOpen: open.includes(finding),
        isLeaveOut: rule.measure === 'leave-out',
        isChange: rule.measure === 'change',
        clearance: rule.clearedBy === undefined ? null : { who: rule.clearedBy },
        isArranged: settlement?.isArranged === true,
        clearedBy: settlement?.clearedBy ?? '',
        clearedOn: settlement?.clearedOn ?? '',
        reason: settlement?.reason ?? '',
        today,
      };
    }),
  };
}
