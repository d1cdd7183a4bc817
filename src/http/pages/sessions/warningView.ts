import { readSigns } from '../../../followup/warningSigns.js';
import type { Warning } from '../../../store/followup/history.js';
import { lengthInWords, timeInWords } from '../../../text/dates.js';
import type { HttpResources } from '../../server/resources.js';

/** The delay from which the page mentions that a phone could not report at once. */
const lateMs = 10 * 60_000;

/** A warning as a page shows it. A sign no longer in the list appears as its id. */
export function warningView(
  { words, workshop }: Pick<HttpResources, 'workshop' | 'words'>,
  warning: Warning,
  { zone, names }: { zone: string; names: ReadonlyMap<string, string> },
): object {
  const ids = readSigns(warning.signs);
  const signs = ids.map((id) => {
    const sign = workshop.warningSigns.signs.find((each) => each.id === id);
    return { words: sign?.words ?? id, told: sign?.instruct ?? null };
  });
  const { caregiverId, answer } = warning;
  const isLate = warning.receivedAtMs - warning.atMs > lateMs;
  return {
    id: warning.id,
    signs,
    hasSigns: signs.length > 0,
    when: timeInWords(warning.atMs, zone),
    reached: isLate ? timeInWords(warning.receivedAtMs, zone) : null,
    place: warning.positionMs === null ? null : lengthInWords(warning.positionMs),
    by: caregiverId === null ? null : (names.get(caregiverId) ?? words.formerCaregiver),
    answer: answer === null ? null : { ...answer, when: timeInWords(answer.atMs, zone) },
  };
}
