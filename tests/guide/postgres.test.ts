import { execFileSync } from 'node:child_process';
import { chownSync } from 'node:fs';
import { copyFile, mkdir, mkdtemp, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import pg from 'pg';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { openStore } from '../../src/store/engine/openStore.js';
import { backUp, restore } from '../../src/store/service/backup.js';
import { openAtStart } from '../../src/store/service/openAtStart.js';
import { startServe } from '../cli/service.js';
import { hasServer } from '../store/databases.js';
import { makeClinic } from '../store/people.js';
import { makePostgresServer, type PostgresServer, postgresPrograms } from '../store/postgresServer.js';

const password = 'a passphrase with ’quotes’ and $igns';

describe.skipIf(!hasServer)('a PostgreSQL server as the guide sets it up', () => {
  let server: PostgresServer;
  let folder: string;
  let certificate: string;
  const urlOf = (query: string) => {
    const url = new URL(server.url);
    url.username = 'stillcount';
    url.password = encodeURIComponent(password);
    url.hostname = 'localhost';
    url.pathname = '/stillcount';
    return `${url.href}${query}`;
  };
  async function asked(url: string, sql: string): Promise<unknown[]> {
    const client = new pg.Client({ connectionString: url });
    await client.connect();
    try {
      return (await client.query(sql)).rows;
    } finally {
      await client.end();
    }
  }
  const refusalOf = (url: string, sql: string) =>
    asked(url, sql).then(
      () => 'not refused',
      (error: unknown) => (error instanceof Error ? error.message : 'thrown'),
    );

  let psql: (...words: string[]) => void;
  beforeAll(async () => {
    const programs = postgresPrograms() ?? '';
    server = await makePostgresServer(programs);
    folder = await mkdtemp(join(tmpdir(), 'stillcount-guide-'));
    const words = [
      '--set',
      `password=${password}`,
      '--file',
      join('src', 'guide', 'files', 'create-database.sql'),
    ];
    psql = (...more) => execFileSync(join(programs, 'psql'), ['--no-psqlrc', '--quiet', ...more, server.url]);
    psql(...words);
    await speakTls();
  });
  afterAll(async () => {
    await server?.remove();
    await rm(folder, { recursive: true, force: true });
  });

  /** A certificate of its own, and nobody let in as the service but over TLS and with the password. */
  async function speakTls(): Promise<void> {
    const [{ hba }] = z
      .tuple([z.object({ hba: z.string() })])
      .parse(await asked(server.url, "select setting as hba from pg_settings where name = 'hba_file'"));
    const data = dirname(hba);
    certificate = join(folder, 'root.crt');
    const key = join(data, 'server.key');
    const made = [
      '-x509',
      '-newkey',
      'ec',
      '-pkeyopt',
      'ec_paramgen_curve:prime256v1',
      '-nodes',
      '-days',
      '2',
    ];
    execFileSync(
      'openssl',
      [
        'req',
        ...made,
        '-keyout',
        key,
        '-out',
        certificate,
        '-subj',
        '/CN=localhost',
        '-addext',
        'subjectAltName=DNS:localhost',
      ],
      { stdio: 'ignore' },
    );
    await copyFile(certificate, join(data, 'server.crt'));
    const { uid, gid } = await stat(data);
    if (process.getuid?.() === 0)
      for (const name of ['server.key', 'server.crt']) chownSync(join(data, name), uid, gid);
    await writeFile(
      hba,
      'hostssl stillcount stillcount 127.0.0.1/32 scram-sha-256\nhost all test 127.0.0.1/32 trust\nhost all other 127.0.0.1/32 trust\n',
    );
    await asked(server.url, 'alter system set ssl = on');
    await asked(server.url, 'create role other login');
    await asked(server.url, 'select pg_reload_conf()');
  }

  it('keeps a clinic over a connection that is encrypted and checked', async () => {
    const url = urlOf(`?sslmode=verify-full&sslrootcert=${certificate}`);
    const service = await startServe(folder, { DATABASE_URL: url });
    process.kill(service.child.pid ?? 0, 'SIGTERM');
    expect(await service.gone).toEqual({ code: 0, signal: null });
    const printed = service.printed.join('\n');
    expect(printed).toMatch(/^ok +database .* answers and holds no clinic yet/m);
    expect(printed).toMatch(/^ok +schema +up to date/m);
    expect(await asked(url, 'select ssl from pg_stat_ssl where pid = pg_backend_pid()')).toEqual([
      { ssl: true },
    ]);
  });

  it('is not used when its certificate is not known, nor without encryption', async () => {
    const openWith = (query: string) =>
      openAtStart({ kind: 'postgres', url: urlOf(query), backups: folder }).then(
        () => 'opened',
        (error: unknown) => String(error),
      );
    const unknown = await openWith('?sslmode=verify-full');
    expect(unknown).toContain('the certificate of the database is not trusted');
    const plain = await openWith('?sslmode=disable');
    expect(plain).toContain('the database refuses this user or password');
    expect(unknown + plain).not.toContain(password);
  });

  it('gives the service nothing but its own database, and that to nobody else', async () => {
    const url = urlOf(`?sslmode=verify-full&sslrootcert=${certificate}`);
    expect(await refusalOf(url, 'create database another')).toMatch(/permission denied/);
    expect(await refusalOf(url, 'create role another')).toMatch(/permission denied/);
    expect(await refusalOf(url, 'select rolpassword from pg_authid')).toMatch(/permission denied/);
    const asOther = new URL(server.url);
    asOther.username = 'other';
    asOther.pathname = '/stillcount';
    expect(await refusalOf(asOther.href, 'select 1')).toMatch(/permission denied for database/);
  });

  it('takes what was kept in SQLite', async () => {
    const sqlite = { kind: 'sqlite', file: join(folder, 'small', 'clinic.db') } as const;
    await mkdir(dirname(sqlite.file));
    const small = await openStore(sqlite);
    await small.write((db) => makeClinic(db, Date.now()));
    await small.close();
    const file = join(folder, 'moving.backup');
    const rows = await backUp(sqlite, file);
    const url = urlOf(`?sslmode=verify-full&sslrootcert=${certificate}`);
    const postgres = { kind: 'postgres', url, backups: folder } as const;
    expect(await restore(file, postgres)).toBe(rows);
    expect(await asked(url, 'select name from clinic')).toEqual([{ name: 'Quillmere' }]);
    // What the chapter on restoring says: the old one is put aside, and what is put in has to be a new one.
    await expect(restore(file, postgres)).rejects.toThrow(/clinic/);
    psql('--file', join('src', 'guide', 'files', 'replace-database.sql'));
    expect(await restore(file, postgres)).toBe(rows);
    const before = new URL(server.url);
    before.pathname = '/stillcount_before';
    expect(await asked(before.href, 'select name from clinic')).toEqual([{ name: 'Quillmere' }]);
    expect(await refusalOf(server.url, 'create role stillcount'), 'the role stays').toMatch(/exists/);
  });
});
