import { spawnSync } from 'node:child_process';
import { readFile } from 'node:fs/promises';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { readVersion } from '../../src/cli/version.js';

const versioned = z.object({ version: z.string() });

/** A heading of the changelog: "Unreleased", or a number with the day on which it was released. */
type Entry = { heading: string; version: string | null; day: string | null };

function entriesOf(changelog: string): Entry[] {
  return [...changelog.matchAll(/^## (.+)$/gm)].map(([, heading = '']) => {
    const [, version = null, day = null] = /^(\d+\.\d+\.\d+)(?: - (\d{4}-\d\d-\d\d))?$/.exec(heading) ?? [];
    return { heading, version, day };
  });
}

const isLess = (one: string, other: string) => one.localeCompare(other, 'en', { numeric: true }) < 0;

/**
 * What is wrong with the headings. The first may be "Unreleased", or a number that is about to be released and has no day
 * yet; whatever stands below another is released.
 */
function headingProblems(changelog: string): string[] {
  const entries = entriesOf(changelog);
  const numbered = entries.filter(({ version }) => version !== null);
  return [
    ...entries.flatMap(({ heading, version }, index) =>
      version !== null || (index === 0 && heading === 'Unreleased') ? [] : [`no release: ${heading}`],
    ),
    ...entries.flatMap(({ heading, version, day }, index) =>
      version === null || index === 0 || day !== null ? [] : [`no day: ${heading}`],
    ),
    ...numbered.flatMap(({ heading, version, day }, index) => {
      const below = numbered[index + 1];
      const isInOrder =
        below === undefined ||
        (isLess(below.version ?? '', version ?? '') && (day === null || !isLess(day, below.day ?? '')));
      return isInOrder ? [] : [`not newer than what stands below it: ${heading}`];
    }),
  ];
}

/** What this clone says, null where there is no git or the answer is no. */
function git(...words: string[]): string | null {
  const { status, stdout } = spawnSync('git', words, { encoding: 'utf8' });
  return status === 0 ? stdout.trim() : null;
}

describe('a release', () => {
  it('has one number in the package, its lock file and the newest entry of the changelog', async () => {
    const lock = versioned.parse(JSON.parse(await readFile('package-lock.json', 'utf8')));
    const newest = entriesOf(await readFile('CHANGELOG.md', 'utf8')).find(({ version }) => version !== null);
    expect([lock.version, newest?.version]).toEqual([readVersion(), readVersion()]);
  });

  it('is an entry of the changelog with its day, the newest first', async () => {
    expect(headingProblems(await readFile('CHANGELOG.md', 'utf8'))).toEqual([]);
    const wrong =
      '## 0.9.0\n## 0.10.0 - 2027-01-02\n## 0.8.0\n## Someday\n## 0.7.0 - 2027-01-03\n## 0.6.0 - 2027-01-04\n';
    expect(headingProblems(wrong)).toEqual([
      'no release: Someday',
      'no day: 0.8.0',
      'not newer than what stands below it: 0.9.0',
      'not newer than what stands below it: 0.7.0 - 2027-01-03',
    ]);
    expect(headingProblems('## Unreleased\n## 0.10.0 - 2027-01-02\n## 0.9.0 - 2027-01-02\n')).toEqual([]);
  });

  it('has a tag that is about it, where the clone holds all tags', async (context) => {
    const tags = git('tag', '--list', 'v*')?.split('\n') ?? [];
    const isWhole = git('rev-parse', '--is-shallow-repository') === 'false';
    context.skip(!isWhole || tags.join('') === '', 'a clone without history or without tags, or none');
    const released = entriesOf(await readFile('CHANGELOG.md', 'utf8'))
      .slice(1)
      .flatMap(({ version }) => (version === null ? [] : [`v${version}`]));
    expect(tags).toEqual(expect.arrayContaining(released));
    for (const tag of tags) {
      expect(git('cat-file', '-t', tag), `${tag}: who made it, and when`).toBe('tag');
      const { version } = versioned.parse(JSON.parse(git('show', `${tag}:package.json`) ?? ''));
      const [entry] = entriesOf(git('show', `${tag}:CHANGELOG.md`) ?? '');
      expect([version, entry?.version], tag).toEqual([tag.slice(1), tag.slice(1)]);
      expect(entry?.day, `${tag}: its day`).not.toBeNull();
    }
  });
});
