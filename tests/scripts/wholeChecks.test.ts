import { existsSync } from 'node:fs';
import { expect, it } from 'vitest';
import { PartTimes } from '../../scripts/test/partTimes.js';
import { changedSince, checksThatGuard, wholeChecks } from '../../scripts/test/wholeChecks.js';

it('runs whole what guards a changed file, and nothing for a file beside it', () => {
  expect(checksThatGuard(['src/signal/loudness.ts'])).toEqual(['starters', 'listener']);
  expect(checksThatGuard(['src/signals.ts', 'README.md'])).toEqual([]);
  expect(checksThatGuard(['package-lock.json'])).toEqual(wholeChecks.map(({ name }) => name));
});

it('names only what there is', () => {
  const places = wholeChecks.flatMap(({ guards }): readonly string[] => guards);
  expect(places.filter((place) => !existsSync(place))).toEqual([]);
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
