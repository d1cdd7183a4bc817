import { execFileSync } from 'node:child_process';

/** The branches to compare with; the first one that exists is used. */
const trunks = ['origin/HEAD', 'origin/main', 'main', 'master'];

/**
 * Lists the files that differ from where this branch left the trunk, committed or not, and untracked files; on the
 * trunk itself, the uncommitted files. Deleted files are left out. Paths are relative, with `/`.
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
      // This clone does not have the branch.
    }
  }
  return 'HEAD';
}

function git(root: string, words: readonly string[]): string {
  return execFileSync('git', words, { cwd: root, encoding: 'utf8', stdio: ['ignore', 'pipe', 'pipe'] });
}
