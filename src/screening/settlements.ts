import { z } from 'zod';
import { keptAdaptationSchema } from '../catalogue/adaptation.js';
import type { Finding } from './findings.js';
import { hasText } from './hasText.js';
import { measures } from './interview.js';

const note = z
  .string()
  .max(500)
  .regex(/^[^\p{Cc}\p{Cs}]*$/u, { error: 'text on one line' });

/** How the clinician resolved a finding; unfinished resolutions are stored too. */
export const settlementSchema = z.strictObject({
  /** The exercises that she resolved it for; a new exercise reopens it. */
  exercises: z.array(z.string()).default([]),
  /** The patient's answer when she resolved it; a different answer reopens it. */
  answered: z.string().max(600).default(''),
  /** Whether the change was made as the rule says. */
  isArranged: z.boolean().default(false),
  /** Who cleared it, */
  clearedBy: note.default(''),
  /** and on which day. */
  clearedOn: z.union([z.literal(''), z.iso.date({ error: 'a date such as 2026-11-25' })]).default(''),
  /** The reason for deviating from the rule. */
  reason: note.default(''),
  /** The rule as it read when this was signed; signing adds it, because rules can change later. */
  rule: z
    .strictObject({
      precaution: z.string(),
      measure: z.enum(measures),
      how: z.string(),
      /** What it changed when it was signed; versions from before rules changed programs have none. */
      adapt: keptAdaptationSchema.optional(),
      /** The exercises of the program that it applied to; earlier versions have none. */
      meets: z.array(z.string()).optional(),
    })
    .optional(),
});
export type Settlement = z.infer<typeof settlementSchema>;

/** Settlements by rule id. */
export const settlementsSchema = z.record(z.string().regex(/^[a-z][a-z0-9-]*$/), settlementSchema);
export type Settlements = z.infer<typeof settlementsSchema>;

/**
 * Rule SCREEN-6: whether a finding is resolved for every exercise that it applies to, and for the patient's current
 * answer. A finding that stops everything is never resolved.
 *
 * @param today ISO date; a clearance dated in the future does not count yet, and one from more than a year ago no
 *   longer does
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
 * Returns whether a settlement follows the rule: changed as it says, or cleared by someone who may clear it. A reason
 * to deviate is a settlement too, but then the rule changes nothing.
 */
export function isFollowed({ rule, isArranged, clearedBy, clearedOn, reason }: Settlement): boolean {
  if (hasText(reason)) return false;
  if (rule?.measure === 'change') return isArranged;
  return rule?.measure === 'clearance' && hasText(clearedBy) && clearedOn !== '';
}

/**
 * Rule SIGN-9: the settlements of findings, each with its rule as it reads today, so that a signed version stays and
 * sounds the same when rules change. A finding that is not resolved today changes nothing.
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

/** Rule SCREEN-7: a clearance from before this day has to be renewed (our choice). */
function aYearBefore(today: string): string {
  return `${Number(today.slice(0, 4)) - 1}${today.slice(4)}`;
}

/** Returns the findings that still prevent signing. */
export function listUnsettled(
  findings: readonly Finding[],
  settlements: Settlements,
  today: string,
): readonly Finding[] {
  return findings.filter((finding) => !isSettled(finding, settlements, today));
}
