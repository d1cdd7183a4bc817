import { execFile, execFileSync } from 'node:child_process';
import {
  chmodSync,
  copyFileSync,
  cpSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
} from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build } from 'esbuild';
import { afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { openStore } from '../../src/store/engine/openStore.js';
import { sqlitePackage } from '../../src/store/engine/requireSqlite.js';
import { restore } from '../../src/store/service/backup.js';
import { storeSettings } from '../../src/store/service/settings.js';
import { Sqlite } from '../sqlite.js';

const earlier = join(import.meta.dirname, 'released', '0005-follow-up.sql');
/** As one file, a tenth of a second each time: it is run a dozen times. Beside the packages, which it needs. */
const program = join(import.meta.dirname, '../../output/upgrader.mjs');
beforeAll(() =>
  build({
    entryPoints: [join(import.meta.dirname, 'upgrader.ts')],
    outfile: program,
    ...{ bundle: true, packages: 'external', format: 'esm', platform: 'node' },
  }),
);

let folder: string;
let file: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillcount-faults-'));
  file = join(folder, 'clinic.db');
  const database = new Sqlite(file);
  database.pragma('synchronous = off');
  database.exec(readFileSync(earlier, 'utf8'));
  database.close();
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

/** What a program says, whatever it ends with. */
function run(program: string, args: readonly string[], environment = {}): Promise<string> {
  const env = { ...process.env, ...environment };
  return new Promise((resolve) => {
    execFile(program, args, { env }, (_error, stdout, stderr) => resolve(stdout + stderr));
  });
}
const opened = (at: string, ...more: string[]) => run(process.execPath, [program, at, ...more]);

/** The step that a database has reached, and its one program, which nothing may lose. */
function contentOf(path: string) {
  const database = new Sqlite(path, { readonly: true });
  const steps = database.prepare('select name from kysely_migration order by name').pluck().all();
  const reasons = database.prepare('select reason from prescriptionVersion').pluck().all();
  database.close();
  return { step: String(steps.at(-1)), reasons };
}

describe('an upgrade that is killed', () => {
  it('before any of its statements leaves the old database or the new one, and the next start goes on', {
    timeout: 180_000,
  }, async () => {
    const copy = (name: string) => {
      mkdirSync(join(folder, name));
      const path = join(folder, name, 'clinic.db');
      copyFileSync(file, path);
      return path;
    };
    const statements = (await opened(copy('whole'))).trim().split('\n');
    expect(statements.at(-1)).toBe('open');
    const after = contentOf(join(folder, 'whole', 'clinic.db')).step;
    // While it is backed up, after that, after each step with its bookkeeping, before and after all is written.
    const places = statements.flatMap((text, index) =>
      /^(begin|commit|insert into "kysely_migration")/.test(text) ? [index + 2] : [],
    );
    expect(places.length).toBeGreaterThan(9);
    const seen = new Set<string>();
    await Promise.all(
      [0, 1].map(async (lane) => {
        for (const place of places.filter((_, index) => index % 2 === lane)) {
          const path = copy(String(place));
          expect(await opened(path, String(place)), String(place)).toBe('');
          const left = contentOf(path);
          expect(['0005-follow-up', after], String(place)).toContain(left.step);
          seen.add(left.step);
          const store = await openStore({ kind: 'sqlite', file: path });
          await store.close();
          expect(contentOf(path), String(place)).toEqual({ step: after, reasons: ['first program'] });
        }
      }),
    );
    expect([...seen].sort()).toEqual(['0005-follow-up', after]);
  });
});

describe('an upgrade on a disk without room', () => {
  it('says so, names the copy, and leaves the database as it was', async (context) => {
    // A disk in memory that holds the database, and not its changes; only root may make one, where the machine lets it.
    const disk = join(folder, 'disk');
    mkdirSync(disk);
    try {
      execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=620k', 'none', disk], { stdio: 'ignore' });
    } catch {
      context.skip('this user may not mount a small disk');
    }
    try {
      const path = join(disk, 'clinic.db');
      copyFileSync(file, path);
      const before = contentOf(path);
      const said = await opened(path);
      expect(said).toContain('the database could not be upgraded: the disk is full');
      expect(said).toMatch(/nothing was changed: .* a copy of everything is .*backups\/after-0005/);
      expect(contentOf(path)).toEqual(before);
      const [backup = ''] = readdirSync(join(disk, 'backups'));
      const other = { kind: 'sqlite' as const, file: join(folder, 'other.db') };
      expect(await restore(join(disk, 'backups', backup), other)).toBeGreaterThan(3);
      // With room it goes on.
      cpSync(path, file);
      expect((await opened(file)).trim().split('\n').at(-1)).toBe('open');
    } finally {
      execFileSync('umount', [disk]);
    }
  });

  it('is told that its files may not grow, and leaves the database as it was', async () => {
    const before = contentOf(file);
    const said = await run('bash', ['-c', 'ulimit -f 64; exec "$@"', '', process.execPath, program, file]);
    expect(said).toMatch(/the database could not be upgraded: the disk reported a fault/);
    expect(contentOf(file)).toEqual(before);
  });
});

describe('two services that start at once', () => {
  it('upgrade a SQLite file once: the second is told', async () => {
    const starts = await Promise.allSettled([1, 2].map(() => openStore({ kind: 'sqlite', file })));
    const stores = starts.flatMap((each) => (each.status === 'fulfilled' ? [each.value] : []));
    const refused = starts.flatMap((each) => (each.status === 'rejected' ? [String(each.reason)] : []));
    expect(stores).toHaveLength(1);
    expect(refused).toEqual([expect.stringContaining('another Stillcount service is using this database')]);
    await stores[0]?.close();
    expect(contentOf(file).reasons).toEqual(['first program']);
    expect(readdirSync(join(folder, 'backups'))).toHaveLength(1);
  });
});

describe('a data folder that may not be written', () => {
  it('is named, with what to do, and nothing in it changes', async (context) => {
    const isRoot = process.getuid?.() === 0;
    const drop = ['--reuid=65534', '--regid=65534', '--clear-groups', process.execPath];
    const canRun = `require('node:fs').accessSync(process.argv[1]); require(process.argv[2]); console.log('yes')`;
    const module = createRequire(import.meta.url).resolve(sqlitePackage(process.versions.node));
    const tried = isRoot ? await run('setpriv', [...drop, '-e', canRun, program, module]) : 'yes';
    context.skip(tried.trim() !== 'yes', `another user cannot run this here: ${tried.trim()}`);
    chmodSync(folder, 0o555);
    const said = isRoot ? await run('setpriv', [...drop, program, file]) : await opened(file);
    chmodSync(folder, 0o755);
    expect(said).not.toContain('EACCES');
    expect(said).toContain(`${file}.lock: This file could not be written: there is no permission`);
    expect(said).toContain(
      'make its folder one that this user may write in, or name another folder with STILLCOUNT_DATA',
    );
    expect(readdirSync(folder)).toEqual(['clinic.db']);
  });
});

it('what is kept before an upgrade stands where the daily backups do, on either database', () => {
  const elsewhere = { STILLCOUNT_BACKUPS: '/srv/backups' };
  expect(storeSettings(elsewhere, '/data')).toMatchObject({ backups: '/srv/backups' });
  const url = 'postgres://db.example/clinic';
  expect(storeSettings({ ...elsewhere, DATABASE_URL: url }, '/data')).toEqual({
    kind: 'postgres',
    url,
    backups: '/srv/backups',
  });
  expect(storeSettings({ DATABASE_URL: url }, '/data')).toMatchObject({ backups: '/data/backups' });
});
