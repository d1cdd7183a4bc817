import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import path from 'node:path';

/** Programs from outside the project that the tests hold its work against, with the Debian package of each. */
const wanted = [
  { package: 'pocketsphinx', isThere: () => isCommand('pocketsphinx_batch') },
  { package: 'pocketsphinx-en-us', isThere: () => existsSync('/usr/share/pocketsphinx/model/en-us/en-us') },
  { package: 'mp3val', isThere: () => isCommand('mp3val') },
  { package: 'mp3check', isThere: () => isCommand('mp3check') },
  { package: 'espeak-ng', isThere: () => isCommand('espeak-ng') },
  { package: 'festival', isThere: () => isCommand('text2wave') },
  {
    package: 'festvox-kallpc16k',
    isThere: () => existsSync('/usr/share/festival/voices/english/kal_diphone'),
  },
  { package: 'chromium', isThere: () => existsSync('/usr/bin/chromium') },
  { package: 'poppler-utils', isThere: () => isCommand('pdftotext') && isCommand('pdftoppm') },
  { package: 'nginx-light', isThere: () => existsSync('/usr/sbin/nginx') },
  { package: 'faketime', isThere: () => isCommand('faketime') },
  { package: 'caddy', isThere: () => isCommand('caddy') },
  { package: 'zsh', isThere: () => isCommand('zsh') },
  { package: 'groff-base', isThere: () => isCommand('groff') },
  { package: 'gnupg', isThere: () => isCommand('gpg') },
  { package: 'systemd', isThere: () => isCommand('systemd-analyze') },
  { package: 'postgresql', isThere: () => existsSync('/usr/lib/postgresql') },
];

/**
 * Installs what is missing, on Debian and its relatives as root. Elsewhere it only says what is missing: the
 * tests that need it then say that they were skipped and why.
 */
export function installMissingPackages(): void {
  const missing = wanted.filter((program) => !program.isThere()).map((program) => program.package);
  if (missing.length === 0) return;
  if (!existsSync('/etc/debian_version') || process.getuid?.() !== 0) {
    console.log(
      `Not installed: ${missing.join(', ')}. On Debian or Ubuntu: apt-get install ${missing.join(' ')}`,
    );
    return;
  }
  console.log(`Installing for the tests: ${missing.join(', ')}`);
  const installed = aptGet(['update']) && aptGet(['install', '--yes', '--no-install-recommends', ...missing]);
  if (!installed) console.log('They could not be installed; the tests that need them will say so.');
}

function aptGet(words: readonly string[]): boolean {
  const result = spawnSync('apt-get', ['--quiet', ...words], {
    encoding: 'utf8',
    env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' },
  });
  if (result.status !== 0) console.log(`${result.stdout ?? ''}${result.stderr ?? ''}`);
  return result.status === 0;
}

function isCommand(name: string): boolean {
  const folders = (process.env.PATH ?? '').split(path.delimiter);
  return folders.some((folder) => existsSync(path.join(folder, name)));
}
