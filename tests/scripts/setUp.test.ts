import { execFile, execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { access, chmod, cp, mkdir, mkdtemp, readFile, rm, symlink, writeFile } from 'node:fs/promises';
import { createServer } from 'node:http';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { sqlitePackage } from '../../src/store/engine/requireSqlite.js';

/** On Node.js 22 and newer the database module is not built. */
const isReadyMade = sqlitePackage(process.versions.node) === 'better-sqlite3-ready';
/** Where a compiled part of another version of Node.js would lie. */
const compiledPart = join('node_modules', 'better-sqlite3', 'build', 'Release', 'better_sqlite3.node');

let folder: string;
let programs: string;
/** A project whose packages are there, and one program beside Node.js: an npm that notes what it is asked for. */
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-setup-'));
  programs = join(folder, 'programs');
  await Promise.all(['scripts', 'node_modules', 'programs'].map((name) => mkdir(join(folder, name))));
  for (const name of ['setUp.mjs', 'progress.mjs'])
    await cp(join('scripts', name), join(folder, 'scripts', name));
  const lock = JSON.stringify({ packages: { '': {}, 'node_modules/better-sqlite3': { version: '1.0.0' } } });
  await writeFile(join(folder, 'package-lock.json'), lock);
  await writeFile(join(folder, 'node_modules', '.package-lock.json'), lock);
  await npmDoes('');
});
afterEach(() => rm(folder, { recursive: true, force: true }));

async function npmDoes(script: string): Promise<void> {
  const file = join(programs, 'npm');
  await writeFile(file, `#!/bin/sh\necho "$@" >> "${join(folder, 'asked')}"\n${script}\n`);
  await chmod(file, 0o755);
}

async function addDatabase(compiled: string | null): Promise<void> {
  const at = join(folder, 'node_modules');
  await symlink(resolve('node_modules', 'bindings'), join(at, 'bindings'));
  await symlink(resolve('node_modules', 'file-uri-to-path'), join(at, 'file-uri-to-path'));
  await cp('node_modules/better-sqlite3/lib', join(at, 'better-sqlite3', 'lib'), { recursive: true });
  await cp('node_modules/better-sqlite3/package.json', join(at, 'better-sqlite3', 'package.json'));
  if (compiled === null) return;
  await mkdir(dirname(join(folder, compiledPart)), { recursive: true });
  await writeFile(join(folder, compiledPart), compiled);
}

type Ended = { code: number; said: string; asked: string };
function setUp(args: readonly string[], environment: NodeJS.ProcessEnv = {}): Promise<Ended> {
  const env = { PATH: programs, ...environment };
  return new Promise((done) => {
    const words = [join(folder, 'scripts', 'setUp.mjs'), ...args];
    execFile(process.execPath, words, { env }, async (error, stdout, stderr) => {
      const asked = await readFile(join(folder, 'asked'), 'utf8').catch(() => '');
      const code = error === null ? 0 : Number(error.code);
      done({ code, said: `${stdout}${stderr}`, asked });
    });
  });
}

describe.skipIf(process.platform === 'win32')('setting up', () => {
  it('builds no database for what makes sessions, and says nothing where nothing is to do', async () => {
    expect(await setUp([])).toEqual({ code: 0, said: '', asked: '' });
  });

  it('installs without running the scripts of packages', async () => {
    await rm(join(folder, 'node_modules', '.package-lock.json'));
    const { code, said, asked } = await setUp([]);
    expect(code).toBe(0);
    expect(asked).toMatch(/^ci --ignore-scripts /);
    expect(said).toMatch(/^Installing the packages, once\.\n {2}ended after \d+ s\n$/);
  });

  it.skipIf(isReadyMade)('builds a compiled part that does not load in this Node.js, once', async () => {
    await addDatabase('built for another version');
    const whole = resolve(compiledPart);
    await npmDoes(`/bin/cp "${whole}" "${join(folder, compiledPart)}"`);
    const first = await setUp(['database']);
    expect(first).toMatchObject({ code: 0, asked: 'rebuild better-sqlite3\n' });
    expect(first.said).toContain(`for Node.js ${process.versions.node}`);
    expect(await setUp(['database'])).toEqual({ code: 0, said: '', asked: first.asked });
  });

  it.skipIf(isReadyMade)('says what is missing and what to do where it cannot be built', async () => {
    await addDatabase(null);
    await npmDoes('echo "gyp ERR! find Python"; exit 1');
    const { code, said } = await setUp(['database']);
    expect(code).toBe(1);
    for (const part of ['find Python', 'Missing here: python3, make, a C++ compiler.', 'apt-get install'])
      expect(said).toContain(part);
    for (const part of ['DATABASE_URL', 'npm run demo']) expect(said).toContain(part);
    expect(said).not.toMatch(/^ +at /m);
  });

  it('builds nothing for a service on PostgreSQL', async () => {
    await addDatabase(null);
    const environment = { DATABASE_URL: 'postgres://db.example/clinic', npm_lifecycle_event: 'prestart' };
    expect(await setUp(['database'], environment)).toEqual({ code: 0, said: '', asked: '' });
  });

  it('keeps nothing half-installed when the registry stops answering halfway, and goes on later', async () => {
    const registry = await openRegistry();
    try {
      const { names, integrityOf } = registry;
      const dependencies = Object.fromEntries(names.map((name) => [name, '1.0.0']));
      const project = { name: 'project', version: '1.0.0', dependencies };
      const wanted = (name: string) => ({ version: '1.0.0', integrity: integrityOf(name) });
      const placed = names.map((name) => [`node_modules/${name}`, wanted(name)] as const);
      const packages = { '': project, ...Object.fromEntries(placed) };
      await writeFile(join(folder, 'package.json'), JSON.stringify(project));
      const lock = { name: 'project', version: '1.0.0', lockfileVersion: 3, requires: true, packages };
      await writeFile(join(folder, 'package-lock.json'), JSON.stringify(lock));
      const environment = {
        // The real npm, which is told of this registry alone, and does not wait long.
        ...{ PATH: process.env.PATH, HOME: folder, npm_config_registry: registry.address },
        ...{ npm_config_fetch_timeout: '1500', npm_config_fetch_retries: '0' },
      };
      const broken = await setUp([], environment);
      expect(broken.code).toBe(1);
      for (const part of [registry.address, 'stopped answering halfway', 'Nothing half-installed was kept.'])
        expect(broken.said).toContain(part);
      expect(registry.served, 'it was halfway').toEqual(['whole']);
      await expect(access(join(folder, 'node_modules'))).rejects.toMatchObject({ code: 'ENOENT' });

      registry.mend();
      expect(await setUp([], environment)).toMatchObject({ code: 0 });
      expect(registry.served, 'what was fetched is not fetched again').toEqual(['whole', 'cut-off']);
      for (const name of names) await access(join(folder, 'node_modules', name, 'package.json'));
    } finally {
      await registry.close();
    }
  });
});

/** A package registry that goes silent in the middle of its second package, until it is mended. */
async function openRegistry() {
  const names = ['whole', 'cut-off'];
  const tarballs = new Map<string, Buffer>();
  await mkdir(join(folder, 'package'));
  for (const name of names) {
    await writeFile(join(folder, 'package', 'package.json'), JSON.stringify({ name, version: '1.0.0' }));
    tarballs.set(name, execFileSync('tar', ['-czf', '-', '-C', folder, 'package']));
  }
  const integrityOf = (name: string) =>
    `sha512-${createHash('sha512')
      .update(tarballs.get(name) ?? '')
      .digest('base64')}`;
  const served: string[] = [];
  let isMended = false;
  let address = '';
  const server = createServer(({ url = '' }, response) => {
    const name = names.find((each) => url.startsWith(`/${each}`)) ?? '';
    const tarball = tarballs.get(name) ?? Buffer.alloc(0);
    if (!url.endsWith('.tgz')) {
      const dist = { tarball: `${address}${name}/-/${name}-1.0.0.tgz`, integrity: integrityOf(name) };
      const versions = { '1.0.0': { name, version: '1.0.0', dist } };
      response.end(JSON.stringify({ name, 'dist-tags': { latest: '1.0.0' }, versions }));
    } else if (name === 'whole' || isMended) {
      served.push(name);
      response.end(tarball);
    } else {
      response.writeHead(200, { 'content-length': tarball.length });
      response.write(tarball.subarray(0, tarball.length / 2));
    }
  });
  await new Promise<void>((listening) => server.listen(0, '127.0.0.1', listening));
  const place = server.address();
  address = `http://127.0.0.1:${typeof place === 'object' && place !== null ? place.port : 0}/`;
  const close = () => {
    server.closeAllConnections();
    return new Promise((closed) => server.close(closed));
  };
  return { address, names, integrityOf, served, close, mend: () => (isMended = true) };
}
