import { execFileSync } from 'node:child_process';

/** Branches that work is held against, the first that exists. */
const trunks = ['origin/HEAD', 'origin/main', 'main', 'master'];

/**
 * The files that differ from where this branch left the trunk, committed or not, and those that git does not know yet;
 * on the trunk itself, what is not committed. Deleted files are not named. Paths are relative, with `/`.
 *
 * @param since a revision to compare with instead
 */
export function changedFiles(root: string, since?: string): string[] {
  const base = since ?? leftTrunkAt(root);
  const changed = git(root, ['diff', '--name-only', '--relative', '--diff-filter=d', '-z', base]);
  const unknown = git(root, ['ls-files', '--others', '--exclude-standard', '-z']);
  const names = `${changed}${unknown}`.split('\0').filter((name) => name !== '');
  return [...new Set(names)].sort();
}

function leftTrunkAt(root: string): string {
  for (const trunk of trunks) {
    try {
      return git(root, ['merge-base', 'HEAD', trunk]).trim();
    } catch {
      // Not a branch of this clone.
    }
  }
  return 'HEAD';
}

function git(root: string, words: readonly string[]): string {
  return execFileSync('git', words, { cwd: root, encoding: 'utf8', stdio: ['ignore', 'pipe', 'pipe'] });
}
