import type { Catalogue } from '../../catalogue/catalogue.js';
import type { Settlements } from '../../screening/settlements.js';
import { dateInWords } from '../forms/words.js';
import type { Words } from '../words.js';
import { namesOf } from './findings.js';

/** How the precautions of a signed version were settled, in the words of the rules as they were then. */
export function settledView(settlements: Settlements, catalogue: Catalogue, words: Words): object[] {
  return Object.entries(settlements).map(([id, settlement]) => {
    const signed = settlement.rule;
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
    };
  });
}
