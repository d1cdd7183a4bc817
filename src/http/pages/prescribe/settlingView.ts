import type { Catalogue } from '../../../catalogue/catalogue.js';
import type { PrescribedProgram } from '../../../program/prescribed.js';
import { type Finding, lyingDownAndGettingUp } from '../../../screening/findings.js';
import { isSettled, type Settlements } from '../../../screening/settlements.js';
import { namesOf } from '../../../text/exerciseNames.js';
import type { Words } from '../../../text/words.js';
import { ruleChangesView } from './adaptedView.js';

/** What the screening requires of this program: each finding with the fields that resolve it. */
export function settlingView(
  findings: readonly Finding[],
  settlements: Settlements,
  today: string,
  {
    catalogue,
    program,
    words,
  }: {
    catalogue: Catalogue;
    /** With resolutions applied; null while it cannot be read. */
    program: PrescribedProgram | null;
    words: Words;
  },
): object {
  const open = findings.filter((finding) => !isSettled(finding, settlements, today));
  return {
    hasFindings: findings.length > 0,
    openCount: open.length === 0 ? null : open.length,
    findings: findings.map((finding) => {
      const { rule, precaution, answered, exercises } = finding;
      const settlement = settlements[rule.id];
      // Only what it still applies to: an exercise removed and added again is new.
      const covered = exercises.filter((id) => settlement?.exercises.includes(id) ?? true);
      const isOutdated =
        covered.length < exercises.length || (settlement !== undefined && settlement.answered !== answered);
      return {
        id: rule.id,
        measure: words.measures[rule.measure],
        isStrict: rule.measure !== 'change',
        said: answered,
        precaution: precaution.name,
        why: rule.why,
        how: rule.how,
        source: rule.source.text,
        exercises: covered.join(' '),
        answered: settlement?.answered ?? answered,
        names: namesOf(exercises, catalogue, words),
        // A resolution does not silently cover an exercise or an answer added later.
        outdated: isOutdated ? { nowExercises: exercises.join(' '), nowAnswered: answered } : null,
        canLeaveOut: exercises.filter((id) => id !== lyingDownAndGettingUp.id).join(' '),
        isStop: rule.stop,
        isOpen: open.includes(finding),
        isLeaveOut: rule.measure === 'leave-out' && !rule.stop,
        isChange: rule.measure === 'change',
        clearance: rule.clearedBy === undefined ? null : { who: rule.clearedBy },
        isArranged: settlement?.isArranged === true,
        clearedBy: settlement?.clearedBy ?? '',
        clearedOn: settlement?.clearedOn ?? '',
        reason: settlement?.reason ?? '',
        today,
        changes: ruleChangesView(finding, program, settlements, words),
      };
    }),
  };
}
