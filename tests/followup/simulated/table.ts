import { type AdviceKind, adviceKinds } from '../../../src/followup/adviceParts.js';
import type { Progression } from '../../../src/followup/progression.js';
import { twoHundred } from './behaviours.js';
import { chanceOf } from './chance.js';
import { type Look, playYear, type Year } from './year.js';

/** What was said on all mornings of one kind, against what the scenario's rule allows. */
export type Row = {
  behaviour: string;
  when: string;
  wanted: readonly AdviceKind[];
  said: Record<AdviceKind, number>;
  /** Mornings on which something else was said than the scenario's rule allows. */
  misses: Look[];
};

/** The year of two hundred people, or of the first of them: every eight hold one of each behavior, and two with a sign. */
export function playAll(progression: Progression, most = 200): Map<string, Year[]> {
  const years = new Map<string, Year[]>();
  const people = twoHundred((person) => chanceOf(person + 1)).slice(0, most);
  for (const [person, behaviour] of people.entries()) {
    const year = playYear(behaviour, person, progression);
    years.set(behaviour.name, [...(years.get(behaviour.name) ?? []), year]);
  }
  return years;
}

export function rowsOf(years: ReadonlyMap<string, readonly Year[]>): Row[] {
  const rows = new Map<string, Row>();
  for (const look of [...years.values()].flat().flatMap(({ looks }) => looks)) {
    const { behaviour, expected, said } = look;
    const key = `${behaviour}, ${expected.when}, ${expected.kinds.join()}`;
    const row = rows.get(key) ?? {
      ...{ behaviour, when: expected.when, wanted: expected.kinds },
      said: { 'step-up': 0, stay: 0, 'step-down': 0, review: 0 },
      misses: [],
    };
    rows.set(key, row);
    row.said[said] += 1;
    if (!expected.kinds.includes(said)) row.misses.push(look);
  }
  return [...rows.values()];
}

/** The rows as a table in Markdown. */
export function tableOf(rows: readonly Row[]): string {
  const head = ['behaviour', 'when', 'the scenario’s rule says', ...adviceKinds, 'misses'];
  const lines = rows.map(({ behaviour, when, wanted, said, misses }) => [
    ...[behaviour, when, wanted.join(' or ')],
    ...adviceKinds.map((kind) => String(said[kind])),
    String(misses.length),
  ]);
  return [head, head.map(() => '---'), ...lines].map((cells) => `| ${cells.join(' | ')} |`).join('\n');
}
