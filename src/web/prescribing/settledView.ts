import type { Catalogue } from '../../catalogue/catalogue.js';
import type { Interview } from '../../screening/interview.js';
import type { Settlements } from '../../screening/settlements.js';
import { dateInWords } from '../forms/words.js';
import type { Words } from '../words.js';
import { namesOf } from './findings.js';

/** How the precautions of a signed version were settled, for reading. A rule that is gone keeps its id. */
export function settledView(
  settlements: Settlements,
  { precautions }: Interview,
  catalogue: Catalogue,
  words: Words,
): object[] {
  const rules = precautions.flatMap(({ name, rules: own }) => own.map((rule) => ({ name, rule })));
  return Object.entries(settlements).map(([id, settlement]) => {
    const found = rules.find(({ rule }) => rule.id === id);
    return {
      precaution: found?.name ?? id,
      measure: found === undefined ? null : words.measures[found.rule.measure],
      how: found?.rule.how,
      names: namesOf(settlement.exercises, catalogue, words),
      isArranged: settlement.isArranged,
      cleared:
        settlement.clearedBy === '' || settlement.clearedOn === ''
          ? null
          : { by: settlement.clearedBy, on: dateInWords(settlement.clearedOn) },
      reason: settlement.reason,
    };
  });
}
