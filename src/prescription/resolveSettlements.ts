import type { ScreeningAnswers } from '../screening/answers.js';
import { settlementsSchema, withRules } from '../screening/settlements.js';
import { type Content, programFindings, type Rulebook } from './programFindings.js';

/**
 * Returns a draft as it would be signed today, with each settlement's rule resolved, so that the preview, the sound and
 * the comparison before the signature match the signed version.
 *
 * @param answers the answers of the newest interview; null before the first
 * @param today ISO date, in the clinic's zone
 */
export function resolveSettlements(
  content: Content,
  answers: ScreeningAnswers | null,
  workshop: Rulebook,
  today: string,
): Content {
  const read = settlementsSchema.safeParse(content.settlements ?? {});
  // Reading the draft later reports what is wrong with them.
  if (!read.success) return content;
  const findings = programFindings(content, answers ?? {}, workshop);
  return { ...content, settlements: withRules(read.data, findings, today) };
}
