import { z } from 'zod';
import { inputError, type Problem } from '../errors/stillcountError.js';
import { parseYaml } from '../yaml/parseYaml.js';

/** What has to be done about a sign, the most urgent first. */
export const urgencies = ['emergency', 'call-today', 'stop-and-rest'] as const;
export type Urgency = (typeof urgencies)[number];

const words = z.string().trim().min(1);

const warningSignSchema = z.strictObject({
  /** As reports from a phone name it. */
  id: z.string().regex(/^[a-z][a-z0-9-]{0,60}$/),
  /** As a listener would say it; short enough for a line or two in large type. */
  words: words.max(100),
  urgency: z.enum(urgencies),
  /** What the listener is told to do now. */
  instruct: words.max(250),
  source: z.strictObject({ kind: z.enum(['published', 'common-practice']), text: words }),
});
export type WarningSign = z.infer<typeof warningSignSchema>;

/** The list from which a listener chooses, the most urgent first. */
export type WarningSigns = { signs: readonly WarningSign[] };

/**
 * Reads `warning-signs.yaml`.
 *
 * @throws StillcountError kind `input` naming the file and the path in it for every fault
 */
export function parseWarningSigns(text: string, file: string): WarningSigns {
  const { signs } = parseYaml(text, file, z.strictObject({ signs: z.array(warningSignSchema).min(1) }));
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
  return { signs };
}

/**
 * The most urgent of some signs; null when there are none. A sign that is not on the list, as a phone with an older
 * list may send it, counts as an emergency: it must not pass for less than it was.
 */
export function urgencyOf({ signs }: WarningSigns, signIds: readonly string[]): Urgency | null {
  const found = new Set(
    signIds.map((id) => signs.find((sign) => sign.id === id)?.urgency ?? ('emergency' as const)),
  );
  return urgencies.find((urgency) => found.has(urgency)) ?? null;
}
