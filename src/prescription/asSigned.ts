import type { ScreeningAnswers } from '../screening/answers.js';
import { settlementsSchema, withRules } from '../screening/settlements.js';
import { type Content, programFindings, type Rulebook } from './programFindings.js';

/**
 * Unsigned work as it would be signed today: each settlement stands with its rule, so that what is drawn, heard and
 * compared before the signature is what comes of it.
 *
 * @param answers of the newest interview; null before the first
 * @param today ISO date, in the clinic's zone
 */
export function resolveSettlements(
  content: Content,
  answers: ScreeningAnswers | null,
  workshop: Rulebook,
  today: string,
): Content {
  const read = settlementsSchema.safeParse(content.settlements ?? {});
  // Reading the work then says what is wrong with them.
  if (!read.success) return content;
  const findings = programFindings(content, answers ?? {}, workshop);
  return { ...content, settlements: withRules(read.data, findings, today) };
}
