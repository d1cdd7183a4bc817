import { readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { workError } from '../errors/stillcountError.js';
import type { ZoneTables } from '../schedule/zoneRules.js';
import type { ZoneTable } from '../schedule/zoneTable.js';

/** Beside this file's source, also when it runs compiled from `dist`. Made by `scripts/keepZones.ts`. */
const keptFile = fileURLToPath(new URL('../../src/zones/kept.txt', import.meta.url));

/** A release of the IANA data as it comes with Stillcount. */
export type KeptZones = {
  release: string;
  /** The release was out by this day at the latest, epoch milliseconds. */
  releasedByMs: number;
  tables: ZoneTables;
};

const firstLine = /^release (\d{4}[a-z]+) by (\d{4}-\d\d-\d\d)$/;

/** @throws StillcountError kind `work` for a file that is damaged */
export async function readKeptZones(file: string = keptFile): Promise<KeptZones> {
  const text = await readFile(file, 'utf8').catch((error: unknown) => {
    throw damaged(file, 1, error);
  });
  const [head = '', ...lines] = text.split('\n');
  const [, release = '', day = ''] = firstLine.exec(head) ?? [];
  if (release === '') throw damaged(file, 1);
  const tables = new Map<string, ZoneTable>();
  for (const [index, line] of lines.entries()) {
    if (line === '' || line.startsWith('#')) continue;
    const [names = '', footer, ...numbers] = line.split(' ');
    const [firstOffsetSeconds, ...rest] = numbers.map(Number);
    const isWhole = rest.length % 2 === 0 && numbers.every((number) => /^-?\d+$/.test(number));
    if (footer === undefined || firstOffsetSeconds === undefined || !isWhole) throw damaged(file, index + 2);
    const table = { firstOffsetSeconds, changes: pairsOf(rest), footer: footer === '-' ? '' : footer };
    for (const name of names.split(',')) tables.set(name, table);
  }
  return { release, releasedByMs: Date.parse(day), tables };
}

/** A line for each table, with all zones that have it, as {@link readKeptZones} reads it. */
export function keptText(
  release: string,
  releasedBy: string,
  tables: ReadonlyMap<string, ZoneTable>,
): string {
  const names = new Map<string, string[]>();
  for (const [name, { footer, firstOffsetSeconds, changes }] of [...tables].sort(([a], [b]) =>
    a < b ? -1 : 1,
  )) {
    const line = [footer === '' ? '-' : footer, firstOffsetSeconds, ...changes.flat()].join(' ');
    names.set(line, [...(names.get(line) ?? []), name]);
  }
  const lines = [...names].map(([line, zones]) => `${zones.join(',')} ${line}`);
  return [
    `release ${release} by ${releasedBy}`,
    '# IANA time zone data, in the public domain. Zones; rule after the last change; offset before the first, in seconds;',
    '# changes since 2000, each as its instant and its offset. Made by scripts/keepZones.ts, never by hand.',
    ...lines,
    '',
  ].join('\n');
}

function pairsOf(numbers: readonly number[]): [number, number][] {
  return numbers.flatMap((at, index): [number, number][] =>
    index % 2 === 0 ? [[at, numbers[index + 1] ?? 0]] : [],
  );
}

function damaged(file: string, line: number, cause?: unknown) {
  return workError(
    {
      ...{ file, line, message: 'the time zone data supplied with Stillcount is damaged' },
      hint: 'install Stillcount again',
    },
    cause,
  );
}
