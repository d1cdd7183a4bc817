// Makes a fresh clone ready to run: checks the Node.js version and installs the packages of the lock file when
// they are missing or differ. Plain JavaScript on purpose, because nothing is installed yet when it starts.
import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), '..');
const lowest = { major: 20, minor: 19 };

requireNode();
if (!packagesMatchLock()) installPackages();

function requireNode() {
  const [major = 0, minor = 0] = process.versions.node.split('.').map(Number);
  if (major > lowest.major || (major === lowest.major && minor >= lowest.minor)) return;
  stop(`Node.js ${lowest.major}.${lowest.minor} or newer is needed. This is ${process.versions.node}.`);
}

/**
 * npm notes what it installed in node_modules/.package-lock.json. Versions are compared rather than file times,
 * because a checkout changes the time of a lock file that is otherwise the same.
 */
function packagesMatchLock() {
  const noted = path.join(root, 'node_modules', '.package-lock.json');
  if (!existsSync(noted)) return false;
  const installed = readPackages(noted);
  const wanted = readPackages(path.join(root, 'package-lock.json'));
  return Object.entries(wanted).every(([place, entry]) => {
    if (place === '') return true;
    const found = installed[place];
    return found === undefined ? entry.optional === true : found.version === entry.version;
  });
}

function readPackages(file) {
  return JSON.parse(readFileSync(file, 'utf8')).packages;
}

function installPackages() {
  console.log('Installing the packages. This happens once and takes a minute or so.');
  // Without scripts: only one package needs its own, and the build that `prepare` makes is not needed to run this.
  const installed = npm(['ci', '--ignore-scripts', '--no-audit', '--no-fund']);
  if (installed.status !== 0) stop(`The packages could not be installed.\n${saidBy(installed)}`);
  const built = npm(['rebuild', 'better-sqlite3']);
  if (built.status === 0) return;
  console.error(
    'SQLite could not be built; making sessions works without it. For the clinic service install python3, make and ' +
      `a C++ compiler and run "npm rebuild better-sqlite3", or set DATABASE_URL to a PostgreSQL server.\n${saidBy(built)}`,
  );
}

function npm(words) {
  return spawnSync('npm', words, { cwd: root, encoding: 'utf8', shell: process.platform === 'win32' });
}

function saidBy(result) {
  return `${result.stdout ?? ''}${result.stderr ?? ''}${result.error ?? ''}`;
}

function stop(message) {
  console.error(message);
  process.exit(1);
}
