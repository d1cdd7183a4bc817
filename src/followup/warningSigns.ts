import { z } from 'zod';
import { inputError, type Problem } from '../errors/stillcountError.js';
import { parseHouseYaml } from '../yaml/parseYaml.js';

/** What has to be done about a sign, most urgent first. */
export const urgencies = ['emergency', 'call-today', 'stop-and-rest'] as const;
export type Urgency = (typeof urgencies)[number];

const words = z.string().trim().min(1);

const warningSignSchema = z.strictObject({
  /** The ids in reports from a phone. */
  id: z.string().regex(/^[a-z][a-z0-9-]{0,60}$/),
  /** As a listener would say it; short enough for a line or two in large type. */
  words: words.max(100),
  urgency: z.enum(urgencies),
  /** What the listener should do now. */
  instruct: words.max(250),
  /**
   * What of it a list on paper says beside the sign, where headings say to stop and whom to call, and that any sign with
   * an emergency beside it is one; empty for nothing more. It may name the `{{emergencyNumber}}`. Without it the whole of `instruct` is printed.
   */
  brief: z.string().trim().max(110).optional(),
  /** False for a sign that is not offered to listeners and that only a note may name. */
  isOffered: z.boolean().default(true),
  source: z.strictObject({ kind: z.enum(['published', 'common-practice']), text: words }),
});
export type WarningSign = z.infer<typeof warningSignSchema>;

const minutes = z
  .int()
  .min(1)
  .max(7 * 24 * 60);

/** Who besides the listener is notified of a sign, and what happens while it is unanswered. */
const tellingSchema = z.strictObject({
  tells: z
    .array(z.enum(['clinicians', 'agreed-caregivers']))
    .refine((tells) => tells.includes('clinicians'), { error: 'clinicians must always be notified' }),
  toldAgainAfterMinutes: z
    .array(minutes)
    .min(1)
    .max(10)
    .refine((times) => times.every((time, index) => index === 0 || time > (times[index - 1] ?? 0)), {
      error: 'each later than the one before',
    }),
  /** By when a clinician should have recorded what was done. */
  answerWithinMinutes: minutes,
});
export type Telling = z.infer<typeof tellingSchema>;

const fileSchema = z.strictObject({
  telling: z.strictObject({
    emergency: tellingSchema,
    'call-today': tellingSchema,
    'stop-and-rest': tellingSchema,
  } satisfies Record<Urgency, unknown>),
  signs: z.array(warningSignSchema).min(1),
});

/** The list of signs, most urgent first, and who is notified of each kind. */
export type WarningSigns = {
  signs: readonly WarningSign[];
  telling: Readonly<Record<Urgency, Telling>>;
};

/**
 * Reads `warning-signs.yaml`.
 *
 * @throws StillcountError kind `input` naming the file and the path in it for every fault
 */
export function parseWarningSigns(text: string, file: string): WarningSigns {
  const { signs, telling } = parseHouseYaml(text, file, fileSchema);
  const fault = (index: number, message: string, found: string): Problem => ({
    file,
    path: `signs[${index}]`,
    message,
    found,
  });
  const problems = signs.flatMap(({ id, urgency }, index) => {
    const before = signs[index - 1]?.urgency ?? urgency;
    return [
      ...(signs.findIndex((sign) => sign.id === id) < index
        ? [fault(index, 'this id is given twice', id)]
        : []),
      ...(urgencies.indexOf(urgency) < urgencies.indexOf(before)
        ? [fault(index, 'a more urgent sign stands below a less urgent one', id)]
        : []),
    ];
  });
  if (signs[0]?.urgency !== 'emergency') {
    problems.push({ file, path: 'signs', message: 'no sign is an emergency', allowed: 'at least one' });
  }
  if (problems.length > 0) throw inputError(problems);
  return { signs, telling };
}

/** The signs offered to a listener, most urgent first. */
export function offeredSigns({ signs }: Pick<WarningSigns, 'signs'>): WarningSign[] {
  return signs.filter(({ isOffered }) => isOffered);
}

/**
 * Rule WARN-3: the most urgent of some signs; null if there are none. A sign that is not on the list, from a phone with
 * an older list, counts as an emergency: it must not be treated as less than it was.
 */
export function urgencyOf(
  { signs }: Pick<WarningSigns, 'signs'>,
  signIds: readonly string[],
): Urgency | null {
  const found = new Set(
    signIds.map((id) => signs.find((sign) => sign.id === id)?.urgency ?? ('emergency' as const)),
  );
  return urgencies.find((urgency) => found.has(urgency)) ?? null;
}

/** Whether one urgency calls for help sooner than another. */
export function isMoreUrgent(one: Urgency, other: Urgency): boolean {
  return urgencies.indexOf(one) < urgencies.indexOf(other);
}

/**
 * The urgency of a warning. A warning without a named sign may be anything, and comes right after emergencies.
 *
 * @param signIds the named signs; empty if it only says that something is wrong
 */
export function warningUrgency(
  warningSigns: Pick<WarningSigns, 'signs'>,
  signIds: readonly string[],
): Urgency {
  return urgencyOf(warningSigns, signIds) ?? 'call-today';
}

const signsSchema = z.array(z.string());

/** The ids of a warning's signs, from the stored JSON. */
export function readSigns(json: string): string[] {
  return signsSchema.parse(JSON.parse(json));
}
