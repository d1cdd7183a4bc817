import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { countOf } from './plant.js';
import type { NearestTest, Subject } from './rule.js';

/** The marker of a rule in the code. */
const mark = /\bRule ([A-Z]+(?:-\d+|\d+)):/g;

/**
 * Lists where the safety case and the code disagree, one line each; empty if they agree.
 *
 * @param chosen the rules to check; all when left out
 */
export function staleCases(
  root: string,
  subjects: readonly Subject[],
  chosen?: ReadonlySet<string>,
): string[] {
  const all = subjects.flatMap((subject) => subject.rules);
  const rules = all.filter(({ id }) => chosen === undefined || chosen.has(id));
  const texts = new Map<string, string | null>();
  const textOf = (file: string): string | null => {
    const known = texts.get(file) ?? readOrNull(path.join(root, file));
    texts.set(file, known);
    return known;
  };
  const ids = all.map(({ id }) => id);
  const faults = rules.flatMap(({ id, faults: own }) => own.map((fault) => ({ id, fault })));
  return [
    ...ids.filter((id, index) => ids.indexOf(id) !== index).map((id) => `${id} stands twice in the case`),
    ...rules.filter(({ faults: own }) => own.length === 0).map(({ id }) => `${id} has no fault`),
    ...rules.filter(({ tests }) => tests.length === 0).map(({ id }) => `${id} has no test`),
    ...markProblems(root, ids),
    ...faults.flatMap(({ id, fault: { file, fragment, planted } }) => {
      const text = textOf(file);
      if (text === null) return [`${id}: there is no ${file}`];
      const count = countOf(text, fragment);
      if (count !== 1) return [`${id}: ${file} holds this ${count} times, not once: ${fragment}`];
      return fragment === planted ? [`${id}: this fault changes nothing: ${fragment}`] : [];
    }),
    ...rules.flatMap(({ id, tests, faults: own }) =>
      [...tests, ...own.flatMap((fault) => fault.tests ?? [])].flatMap((test) =>
        testProblems(id, test, textOf),
      ),
    ),
  ];
}

/** Checks that every id in the case occurs once in the code, and that every id in the code is in the case. */
function markProblems(root: string, ids: readonly string[]): string[] {
  const found = new Map<string, string[]>();
  for (const file of sourcesIn(path.join(root, 'src'))) {
    for (const [, id] of readFileSync(file, 'utf8').matchAll(mark)) {
      if (id !== undefined) found.set(id, [...(found.get(id) ?? []), path.relative(root, file)]);
    }
  }
  return [
    ...ids.flatMap((id) => {
      const files = found.get(id) ?? [];
      return files.length === 1
        ? []
        : [`“Rule ${id}:” stands ${files.length} times in src: ${files.join(', ')}`];
    }),
    ...[...found.keys()]
      .filter((id) => !ids.includes(id))
      .map((id) => `“Rule ${id}:” in ${found.get(id)?.join(', ')} is not in the case`),
  ];
}

function testProblems(
  id: string,
  { file, name }: NearestTest,
  textOf: (file: string) => string | null,
): string[] {
  const text = textOf(file);
  if (text === null) return [`${id}: there is no ${file}`];
  return name === undefined || text.includes(name) ? [] : [`${id}: no test of ${file} is called “${name}”`];
}

function sourcesIn(folder: string): string[] {
  return readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile() && entry.name.endsWith('.ts'))
    .map((entry) => path.join(entry.parentPath, entry.name));
}

function readOrNull(file: string): string | null {
  try {
    return readFileSync(file, 'utf8');
  } catch {
    return null;
  }
}
