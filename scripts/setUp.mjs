// Makes a fresh clone ready to run: checks the Node.js version, installs the packages of the lock file if they are
// missing or differ, and, with the argument `database`, builds the database module if it does not load. Plain
// JavaScript on purpose, because nothing is installed yet when it starts.
//
//   node scripts/setUp.mjs            for rendering sessions
//   node scripts/setUp.mjs database   for the clinic's service and for the tests
import { spawn, spawnSync } from 'node:child_process';
import { existsSync, readFileSync, rmSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { withProgress } from './progress.mjs';

const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), '..');
const lowest = { major: 20, minor: 19 };
/** How many lines of npm's output are shown when it fails. */
const linesShown = 25;
const packagesFolder = path.join(root, 'node_modules');
/** Written by npm as the last step of an installation. */
const installedNote = path.join(packagesFolder, '.package-lock.json');
/** How npm reports a registry that does not respond. */
const registryGone =
  /\b(ECONNREFUSED|ECONNRESET|ENOTFOUND|EAI_AGAIN|ETIMEDOUT|EIDLETIMEOUT|ERR_SOCKET_TIMEOUT|EHOSTUNREACH|ENETUNREACH|EPROTO|E5\d\d)\b|socket hang up|network|premature close|timeout/i;

requireNode();
const needsDatabase = process.argv.includes('database') && !isForPostgres();
/** The same rule as in src/store/engine/requireSqlite.ts: on Node.js 22 and newer the module comes prebuilt. */
const isReadyMade = Number.parseInt(process.versions.node, 10) >= 22;
const databasePackage = isReadyMade ? 'better-sqlite3-ready' : 'better-sqlite3';
if (!packagesMatchLock() || (needsDatabase && !isInstalled(databasePackage))) await installPackages();
if (needsDatabase && !databaseLoads()) await (isReadyMade ? stopWithoutDatabase() : buildDatabase());

function requireNode() {
  const [major = 0, minor = 0] = process.versions.node.split('.').map(Number);
  if (major > lowest.major || (major === lowest.major && minor >= lowest.minor)) return;
  stop(`Node.js ${lowest.major}.${lowest.minor} or newer is needed. This is ${process.versions.node}.`);
}

/**
 * npm records what it installed in node_modules/.package-lock.json. Versions are compared rather than file times,
 * because a checkout changes the time of an otherwise identical lock file.
 */
function packagesMatchLock() {
  if (!existsSync(installedNote)) return false;
  const installed = readPackages(installedNote);
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

async function installPackages() {
  // Without scripts: the database module is built when it is needed, and the build in `prepare` is for packing.
  const installing = npm(['ci', '--ignore-scripts', '--prefer-offline', '--no-audit', '--no-fund']);
  const { code, said } = await withProgress('Installing the packages, once', installing);
  if (code === 0) return;
  const reason = registryGone.test(said)
    ? `The package registry (${registry()}) could not be reached, or stopped answering halfway.`
    : "The packages could not be installed; npm's reasons stand above.";
  stop(`${said}\n${reason}\n${removeHalf()}Then give the same command again: what npm has fetched, it does not fetch again.
  Network or proxy:  npm ping
  Another registry:  npm config set registry https://...`);
}

/** npm deletes the earlier packages before it fetches: what is there after a failure is a partial installation. */
function removeHalf() {
  if (existsSync(installedNote)) return 'Nothing was changed. ';
  rmSync(packagesFolder, { recursive: true, force: true });
  return 'Nothing half-installed was kept. ';
}

function registry() {
  const { status, stdout } = npmAtOnce(['config', 'get', 'registry']);
  return status === 0 ? stdout.trim() : 'as npm is set up';
}

function npmAtOnce(words) {
  return spawnSync('npm', words, { cwd: root, shell: process.platform === 'win32', encoding: 'utf8' });
}

/** A service on PostgreSQL does not need the database module. */
function isForPostgres() {
  return (
    (process.env.DATABASE_URL ?? '') !== '' && /^(pre)?start$/.test(process.env.npm_lifecycle_event ?? '')
  );
}

/** A package that another version of Node.js does not need may be missing. */
function isInstalled(name) {
  return existsSync(path.join(packagesFolder, name, 'package.json'));
}

/** A module built for another version of Node.js exists but does not load, so a child process tries it. */
function databaseLoads() {
  const tried = `const Sqlite = require('${databasePackage}'); new Sqlite(':memory:').close();`;
  return spawnSync(process.execPath, ['-e', tried], { cwd: root, stdio: 'ignore' }).status === 0;
}

async function buildDatabase() {
  const building = npm(['rebuild', 'better-sqlite3'], ownHeaders());
  const title = `Building the database module for Node.js ${process.versions.node}, once, which takes minutes`;
  const { code, said } = await withProgress(title, building);
  if (code === 0 && databaseLoads()) return;
  stop(`${said}
The database module (SQLite) could not be built; the reasons stand above.
It needs python3, make and a C++ compiler. ${missingTools()}
  Debian, Ubuntu:  apt-get install python3 make g++
  macOS:           xcode-select --install
  Windows:         Visual Studio Build Tools, "Desktop development with C++", and Python
Then give the same command again. Without a compiler, use Node.js 22 or newer, or set DATABASE_URL to a PostgreSQL server.
Making sessions from files needs no database: npm run demo`);
}

function stopWithoutDatabase() {
  stop(`The database module (SQLite) does not run on this machine (${process.platform} ${process.arch}).
Set DATABASE_URL to a PostgreSQL server. Making sessions from files needs no database: npm run demo`);
}

/**
 * Distributions of Node.js include the headers that the module is built against; headers of another version, which npm
 * may be configured with, would build a module that does not load. If there are none, npm fetches them.
 */
function ownHeaders() {
  const folder = path.resolve(path.dirname(process.execPath), '..');
  const file = path.join(folder, 'include', 'node', 'node_version.h');
  if (!existsSync(file)) return {};
  const text = readFileSync(file, 'utf8');
  const number = (part) => new RegExp(`#define NODE_${part}_VERSION (\\d+)`).exec(text)?.[1];
  const version = ['MAJOR', 'MINOR', 'PATCH'].map(number).join('.');
  return version === process.versions.node ? { npm_config_nodedir: folder } : {};
}

function missingTools() {
  const tools = [
    ['python3', ['python3', 'python']],
    ['make', ['make']],
    ['a C++ compiler', ['c++', 'g++', 'clang++']],
  ];
  if (process.platform === 'win32') return '';
  const isThere = (name) => spawnSync(name, ['--version'], { stdio: 'ignore' }).status === 0;
  const missing = tools.filter(([, names]) => !names.some(isThere)).map(([tool]) => tool);
  return missing.length === 0 ? '' : `Missing here: ${missing.join(', ')}.`;
}

/** Runs npm and keeps the last lines of its output. */
function npm(words, environment = {}) {
  return new Promise((resolve) => {
    const child = spawn('npm', words, {
      cwd: root,
      env: { ...process.env, ...environment },
      shell: process.platform === 'win32',
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    let said = '';
    for (const stream of [child.stdout, child.stderr]) {
      stream.setEncoding('utf8');
      stream.on('data', (text) => {
        said = `${said}${text}`.split('\n').slice(-linesShown).join('\n');
      });
    }
    child.on('error', (error) => resolve({ code: 1, said: error.message }));
    child.on('close', (code) => resolve({ code, said }));
  });
}

function stop(message) {
  console.error(message);
  process.exit(1);
}
