import { existsSync, readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { expect, it } from 'vitest';
import { PartTimes } from '../../scripts/test/partTimes.js';
import { changedSince, checksThatGuard, wholeChecks } from '../../scripts/test/wholeChecks.js';

it('runs whole what guards a changed file, and nothing for a file beside it', () => {
  expect(checksThatGuard(['src/signal/loudness.ts'])).toEqual(['starters', 'listener', 'voices']);
  expect(checksThatGuard(['src/signals.ts', 'README.md'])).toEqual([]);
  expect(checksThatGuard(['package-lock.json'])).toEqual(wholeChecks.map(({ name }) => name));
});

it('names only what there is', () => {
  const places = wholeChecks.flatMap(({ guards }): readonly string[] => guards);
  expect(places.filter((place) => !existsSync(place))).toEqual([]);
});

it('names the checks that tests ask for, and no others', () => {
  const files = readdirSync('tests', { recursive: true, encoding: 'utf8' });
  const asked = files
    .filter((name) => name.endsWith('.ts'))
    .flatMap((name) => [
      ...readFileSync(path.join('tests', name), 'utf8').matchAll(/\bisWhole\('([\w-]+)'\)/g),
    ])
    .map(([, name]) => name);
  expect([...new Set(asked)].sort()).toEqual(wholeChecks.map(({ name }) => name).sort());
});

it('knows of no change since a commit that is not there', () => {
  expect(changedSince('no-such-commit')).toBeNull();
});

it('tells how long each part took, and all of it', async () => {
  let nowMs = 0;
  const times = new PartTimes(() => nowMs);
  const part = times.take('Rooms', Promise.resolve('done'));
  nowMs = 245_000;
  expect(await part).toBe('done');
  nowMs = 726_400;
  expect(times.lines()).toEqual(['Rooms       4 min 05 s', 'All of it  12 min 06 s']);
});
