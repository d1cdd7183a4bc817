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
  // Without scripts: no package here needs its own, and the build that `prepare` makes is not needed to run this.
  const result = spawnSync('npm', ['ci', '--ignore-scripts', '--no-audit', '--no-fund'], {
    cwd: root,
    encoding: 'utf8',
    shell: process.platform === 'win32',
  });
  if (result.status === 0) return;
  stop(
    `The packages could not be installed.\n${result.stdout ?? ''}${result.stderr ?? ''}${result.error ?? ''}`,
  );
}

function stop(message) {
  console.error(message);
  process.exit(1);
}
