import { weekdays } from '../../../prescription/content.js';
import { valueAtPath } from '../../../prescription/looseProgram.js';
import type { Words } from '../../../text/words.js';

/** For each weekday, whether it is like the others, and its own times if not. */
export function weekdaysView(content: Readonly<Record<string, unknown>>, words: Words): object {
  const days = weekdays.map((key) => {
    const times = valueAtPath(content, `weekdayTimes.${key}`);
    const own: readonly unknown[] | null = Array.isArray(times) ? times : null;
    return {
      key,
      name: words.weekdays[key],
      isNone: own?.length === 0,
      isOwn: own !== null && own.length > 0,
      times: ['First', 'Second', 'Third'].map((label, index) => ({
        label,
        index,
        value: own?.[index] ?? '',
      })),
    };
  });
  return { weekdays: days, hasOtherDays: days.some(({ isNone, isOwn }) => isNone || isOwn) };
}
