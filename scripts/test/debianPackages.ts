import { spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import path from 'node:path';

const listener = 'hears what was made as a listener does';
const otherReader = 'reads MP3 files independently';
const otherVoice = 'speaks as a voice of the system does';
const otherServer = 'stands before the service as in the guide';

/** Programs from outside the project that the tests hold its work against: the Debian package of each, and what for. */
const wanted = [
  { package: 'pocketsphinx', why: listener, isThere: () => isCommand('pocketsphinx_batch') },
  {
    package: 'pocketsphinx-en-us',
    why: listener,
    isThere: () => existsSync('/usr/share/pocketsphinx/model/en-us/en-us'),
  },
  { package: 'mp3val', why: otherReader, isThere: () => isCommand('mp3val') },
  { package: 'mp3check', why: otherReader, isThere: () => isCommand('mp3check') },
  { package: 'espeak-ng', why: otherVoice, isThere: () => isCommand('espeak-ng') },
  { package: 'festival', why: otherVoice, isThere: () => isCommand('text2wave') },
  {
    package: 'festvox-kallpc16k',
    why: otherVoice,
    isThere: () => existsSync('/usr/share/festival/voices/english/kal_diphone'),
  },
  { package: 'chromium', why: 'opens the pages', isThere: () => existsSync('/usr/bin/chromium') },
  {
    package: 'poppler-utils',
    why: 'reads the PDF files',
    isThere: () => isCommand('pdftotext') && isCommand('pdftoppm'),
  },
  { package: 'nginx-light', why: otherServer, isThere: () => existsSync('/usr/sbin/nginx') },
  { package: 'caddy', why: otherServer, isThere: () => isCommand('caddy') },
  { package: 'faketime', why: 'sets the clock of a service', isThere: () => isCommand('faketime') },
  { package: 'zsh', why: 'completes commands', isThere: () => isCommand('zsh') },
  { package: 'groff-base', why: 'reads the manual', isThere: () => isCommand('groff') },
  { package: 'gnupg', why: 'encrypts a backup as in the guide', isThere: () => isCommand('gpg') },
  {
    package: 'systemd',
    why: 'reads the unit file of the guide',
    isThere: () => isCommand('systemd-analyze'),
  },
  {
    package: 'postgresql',
    why: 'keeps a clinic, as SQLite does',
    isThere: () => existsSync('/usr/lib/postgresql'),
  },
];

/** Saves time alone: where a system has no such package, the tests do without it. */
const quicker = [
  {
    package: 'chromium-headless-shell',
    why: 'opens the pages in half of the processor time (optional)',
    isThere: () => existsSync('/usr/bin/chromium-headless-shell'),
  },
];

/**
 * Says what is missing and what it is for, and then, on Debian and its relatives as root, installs it. Elsewhere the tests
 * that need it say that they were skipped and why.
 */
export async function installMissingPackages(): Promise<void> {
  const missing = wanted.filter(({ isThere }) => !isThere());
  const optional = quicker.filter(({ isThere }) => !isThere());
  const all = [...missing, ...optional];
  if (all.length === 0) return;
  const namesOf = (programs: typeof wanted) => programs.map((program) => program.package);
  const willInstall = existsSync('/etc/debian_version') && process.getuid?.() === 0;
  console.log(
    [
      'Programs from outside hold this project’s work to account. Not installed here:',
      ...all.map((program) => `  ${program.package.padEnd(23)} ${program.why}`),
      willInstall
        ? 'Installing them now with apt-get, for the whole of this system.'
        : `What needs them is skipped. On Debian or Ubuntu: apt-get install ${namesOf(all).join(' ')}`,
    ].join('\n'),
  );
  if (!willInstall) return;
  const install = (names: readonly string[]) =>
    aptGet(['install', '--yes', '--no-install-recommends', ...names]);
  if (!((await aptGet(['update'])) && (await install(namesOf(missing)))))
    return console.log('They could not be installed; the tests that need them will say so.');
  // By itself, as one package that a system lacks keeps all others named with it from being installed.
  const hasOptional = await install(namesOf(optional));
  console.log(`Installed: ${[...namesOf(missing), ...(hasOptional ? namesOf(optional) : [])].join(', ')}`);
}

/** Says nothing unless it fails. */
function aptGet(words: readonly string[]): Promise<boolean> {
  return new Promise((resolve) => {
    const said: Buffer[] = [];
    const child = spawn('apt-get', ['--quiet', ...words], {
      env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    child.stdout.on('data', (chunk: Buffer) => said.push(chunk));
    child.stderr.on('data', (chunk: Buffer) => said.push(chunk));
    child.on('error', () => resolve(false));
    child.on('close', (code) => {
      if (code !== 0) console.log(Buffer.concat(said).toString());
      resolve(code === 0);
    });
  });
}

function isCommand(name: string): boolean {
  const folders = (process.env.PATH ?? '').split(path.delimiter);
  return folders.some((folder) => existsSync(path.join(folder, name)));
}
