import { dayLabel, dayNumber, inSeveralYears } from './days.js';
import { textWidth } from './letters.js';
import type { LineSpec } from './picture.js';

/** Marks that lie so near to each other that one label has to name them all. */
export type MarkGroup = {
  /** Where the label stands: the middle of the group. */
  x: number;
  label: string;
  marks: readonly { x: number; label: string; name: string }[];
};

type Numbered = { x: number; number: number; name: string };

/**
 * Numbers the marks of the shown days in the order of their days, and joins those whose numbers would meet. Each
 * label is centered on its group's middle.
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
    // A group that grows gets a longer label, and may then meet the one before it.
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
