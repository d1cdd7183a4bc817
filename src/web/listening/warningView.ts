import { z } from 'zod';
import type { Warning } from '../../store/listeningRecords.js';
import { lengthInWords, timeInWords } from '../forms/words.js';
import type { Service } from '../service.js';

const signsSchema = z.array(z.string());

/** A warning as a page shows it. A sign that today's list no longer has stands with its id. */
export function warningView(
  { words, workshop }: Service,
  warning: Warning,
  { zone, names }: { zone: string; names: ReadonlyMap<string, string> },
): object {
  const ids = signsSchema.parse(JSON.parse(warning.signs));
  const signs = ids.map((id) => workshop.warningSigns.signs.find((sign) => sign.id === id)?.words ?? id);
  const { caregiverId, answer } = warning;
  return {
    id: warning.id,
    signs,
    hasSigns: signs.length > 0,
    when: timeInWords(warning.atMs, zone),
    place: warning.positionMs === null ? null : lengthInWords(warning.positionMs),
    by: caregiverId === null ? null : (names.get(caregiverId) ?? words.formerCaregiver),
    isOpen: answer === null,
    answer: answer === null ? null : { ...answer, when: timeInWords(answer.atMs, zone) },
  };
}
