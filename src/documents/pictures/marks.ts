import { dayLabel, dayNumber, inSeveralYears } from './days.js';
import { textWidth } from './letters.js';
import type { LineSpec } from './picture.js';

/** Marks so close together that they share one label. */
export type MarkGroup = {
  /** Position of the label: the middle of the group. */
  x: number;
  label: string;
  marks: readonly { x: number; label: string; name: string }[];
};

type Numbered = { x: number; number: number; name: string };

/**
 * Numbers the marks of the shown days in order of day, and groups those whose labels would overlap. Each label is
 * centered on the middle of its group.
 */
export function groupedMarks(
  marks: NonNullable<LineSpec['marks']>,
  days: { from: number; to: number },
  x: (day: number) => number,
): MarkGroup[] {
  const withYear = inSeveralYears(days.from, days.to);
  const numbered = marks
    .map(({ day, name }) => ({ day: dayNumber(day), name }))
    .filter(({ day }) => day >= days.from && day <= days.to)
    .sort((one, other) => one.day - other.day)
    .map(
      ({ day, name }, index): Numbered => ({
        x: x(day),
        number: index + 1,
        name: `${dayLabel(day, { withYear })}: ${name}`,
      }),
    );
  const groups: Numbered[][] = [];
  for (const mark of numbered) {
    let joined = [mark];
    // A growing group gets a longer label, which may then overlap the group before it.
    for (let before = groups.at(-1); before !== undefined && meet(before, joined); before = groups.at(-1)) {
      groups.pop();
      joined = [...before, ...joined];
    }
    groups.push(joined);
  }
  return groups.map((group) => ({
    x: middleOf(group),
    label: labelOf(group),
    marks: group.map(({ x, number, name }) => ({ x, label: String(number), name })),
  }));
}

function meet(before: readonly Numbered[], after: readonly Numbered[]): boolean {
  const room = (textWidth(labelOf(before)) + textWidth(labelOf(after))) / 2 + 6;
  return middleOf(after) - middleOf(before) < room;
}

function middleOf(group: readonly Numbered[]): number {
  return ((group[0]?.x ?? 0) + (group.at(-1)?.x ?? 0)) / 2;
}

function labelOf(group: readonly Numbered[]): string {
  const [first, last] = [group[0]?.number ?? 0, group.at(-1)?.number ?? 0];
  return first === last ? String(first) : `${first}\u2013${last}`;
}
