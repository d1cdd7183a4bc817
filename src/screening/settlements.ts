import { z } from 'zod';
import { keptAdaptationSchema } from '../catalogue/adaptation.js';
import type { Finding } from './findings.js';
import { hasText } from './hasText.js';
import { measures } from './interview.js';

const note = z
  .string()
  .max(500)
  .regex(/^[^\p{Cc}\p{Cs}]*$/u, { error: 'text on one line' });

/** How the clinician settled a finding; unfinished ones are kept too. */
export const settlementSchema = z.strictObject({
  /** The exercises that she settled it for; a new one opens it again. */
  exercises: z.array(z.string()).default([]),
  /** What the person had said when she settled it; another answer opens it again. */
  answered: z.string().max(600).default(''),
  /** A change that has been arranged as the rule says. */
  isArranged: z.boolean().default(false),
  /** Who allowed it, */
  clearedBy: note.default(''),
  /** and on which day. */
  clearedOn: z.union([z.literal(''), z.iso.date({ error: 'a date such as 2026-11-25' })]).default(''),
  /** Why it is done against the rule. */
  reason: note.default(''),
  /** The rule as it read when this was signed; the signing puts it in, and rules may change later. */
  rule: z
    .strictObject({
      precaution: z.string(),
      measure: z.enum(measures),
      how: z.string(),
      /** What it changed when it was signed; a version that was signed before rules changed programs has none. */
      adapt: keptAdaptationSchema.optional(),
      /** The exercises of the program that it met; a version from before has none. */
      meets: z.array(z.string()).optional(),
    })
    .optional(),
});
export type Settlement = z.infer<typeof settlementSchema>;

/** Settlements by the id of the rule. */
export const settlementsSchema = z.record(z.string().regex(/^[a-z][a-z0-9-]*$/), settlementSchema);
export type Settlements = z.infer<typeof settlementsSchema>;

/**
 * Rule SCREEN-6: whether a finding has been dealt with for every exercise that it meets, and for what the person says
 * now. What stops is never settled.
 *
 * @param today ISO date; what is to be allowed later is not allowed yet, and what was allowed more than a year ago
 *   no longer
 */
export function isSettled(
  { rule, answered, exercises }: Finding,
  settlements: Settlements,
  today: string,
): boolean {
  const settlement = settlements[rule.id];
  if (settlement === undefined || rule.stop || settlement.answered !== answered) return false;
  if (!exercises.every((id) => settlement.exercises.includes(id))) return false;
  if (hasText(settlement.reason)) return true;
  if (rule.measure === 'change') return settlement.isArranged;
  const { clearedBy, clearedOn } = settlement;
  return (
    rule.measure === 'clearance' &&
    hasText(clearedBy) &&
    clearedOn >= aYearBefore(today) &&
    clearedOn <= today
  );
}

/**
 * Whether a settlement says that the rule is followed: arranged as it says, or allowed by who may allow it. A reason to
 * do otherwise is a settlement too, but then the rule changes nothing.
 */
export function isFollowed({ rule, isArranged, clearedBy, clearedOn, reason }: Settlement): boolean {
  if (hasText(reason)) return false;
  if (rule?.measure === 'change') return isArranged;
  return rule?.measure === 'clearance' && hasText(clearedBy) && clearedOn !== '';
}

/**
 * Rule SIGN-9: the settlements of findings, each with its rule as it reads today, so that a signed version stays and
 * sounds as it was when rules change. What is not settled today changes nothing.
 *
 * @param today ISO date
 */
export function withRules(
  settlements: Settlements,
  findings: readonly Finding[],
  today: string,
): Settlements {
  return Object.fromEntries(
    findings.flatMap((finding) => {
      const { rule, precaution, exercises } = finding;
      const settlement = settlements[rule.id];
      if (settlement === undefined) return [];
      const storedRule = { precaution: precaution.name, measure: rule.measure, how: rule.how };
      const acts = isSettled(finding, settlements, today);
      const adapt = acts && rule.adapt !== undefined ? { adapt: rule.adapt } : {};
      return [[rule.id, { ...settlement, rule: { ...storedRule, ...adapt, meets: [...exercises] } }]];
    }),
  );
}

/** Rule SCREEN-7: what was allowed longer ago is asked again (our choice). */
function aYearBefore(today: string): string {
  return `${Number(today.slice(0, 4)) - 1}${today.slice(4)}`;
}

/** Findings that still stand against signing. */
export function listUnsettled(
  findings: readonly Finding[],
  settlements: Settlements,
  today: string,
): readonly Finding[] {
  return findings.filter((finding) => !isSettled(finding, settlements, today));
}
