import { clinicCatalogue } from '../../../prescription/programFindings.js';
import { isFollowed, type Settlements } from '../../../screening/settlements.js';
import type { ClinicWorkshop } from '../../../session/workshop.js';
import { dateInWords } from '../../../text/dates.js';
import { namesOf } from '../../../text/exerciseNames.js';
import type { Words } from '../../../text/words.js';

/** How the precautions of a signed version were resolved, in the words of the rules at that time. */
export function settledView(settlements: Settlements, workshop: ClinicWorkshop, words: Words): object[] {
  const catalogue = clinicCatalogue(workshop);
  const today = new Map(
    workshop.interview.precautions.flatMap(({ rules }) => rules.map((rule) => [rule.id, rule] as const)),
  );
  return Object.entries(settlements).map(([id, settlement]) => {
    const signed = settlement.rule;
    const isActing = isFollowed(settlement) && signed?.adapt !== undefined;
    // Signed before rules changed programs, or before this one did.
    const wouldAct = isFollowed(settlement) && !isActing && today.get(id)?.adapt !== undefined;
    return {
      precaution: signed?.precaution ?? id,
      measure: signed === undefined ? null : words.measures[signed.measure],
      how: signed?.how,
      names: namesOf(settlement.exercises, catalogue, words),
      isArranged: settlement.isArranged,
      cleared:
        settlement.clearedBy === '' || settlement.clearedOn === ''
          ? null
          : { by: settlement.clearedBy, on: dateInWords(settlement.clearedOn) },
      reason: settlement.reason,
      isActing,
      wouldAct,
    };
  });
}
