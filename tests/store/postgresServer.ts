import { execFileSync, spawn } from 'node:child_process';
import { chownSync, existsSync, mkdtempSync, readdirSync, renameSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import pg from 'pg';
import { sharedFolder, temporaryFolder } from '../leftBehind.js';

/** A PostgreSQL server of the machine's own, in a folder and on a port of its own. */
export type PostgresServer = {
  url: string;
  start(): Promise<void>;
  stop(): Promise<void>;
  remove(): Promise<void>;
};

const installRoot = '/usr/lib/postgresql';

/** The folder of the newest installed server's programs; undefined where there is none. */
export function postgresPrograms(): string | undefined {
  if (!existsSync(installRoot)) return undefined;
  const versions = readdirSync(installRoot).sort((a, b) => Number(b) - Number(a));
  return versions
    .map((version) => join(installRoot, version, 'bin'))
    .find((folder) => existsSync(join(folder, 'postgres')));
}

/** Makes a fresh server; it refuses to run as root, so root hands it to the user that its package made. */
export async function makePostgresServer(programs: string): Promise<PostgresServer> {
  const folder = mkdtempSync(join(tmpdir(), 'stillcount-postgres-'));
  const asUser = process.getuid?.() === 0 ? { uid: idOf('-u'), gid: idOf('-g') } : {};
  if (asUser.uid !== undefined) chownSync(folder, asUser.uid, asUser.gid);
  const data = join(folder, 'data');
  const options = { ...asUser, cwd: folder, stdio: 'ignore' as const };
  makeData(data, () => {
    const words = ['-D', data, '-U', 'test', '-A', 'trust', '-E', 'UTF8', '--no-sync'];
    execFileSync(join(programs, 'initdb'), words, options);
  });
  const port = await freePort();
  const url = `postgres://test@127.0.0.1:${port}/postgres`;
  let running: ReturnType<typeof spawn> | undefined;

  async function start(): Promise<void> {
    const server = spawn(
      join(programs, 'postgres'),
      [
        '-D',
        data,
        '-p',
        String(port),
        '-c',
        'listen_addresses=127.0.0.1',
        '-c',
        `unix_socket_directories=${folder}`,
        // A server that is killed loses nothing by it; only a machine without power would.
        '-c',
        'fsync=off',
      ],
      options,
    );
    running = server;
    await untilItAnswers(url, server);
  }

  async function stop(): Promise<void> {
    const server = running;
    if (server === undefined || server.exitCode !== null) return;
    const gone = new Promise((resolve) => server.once('exit', resolve));
    // Fast shutdown: clients are cut off, as when a server is restarted under them.
    server.kill('SIGINT');
    await gone;
  }

  await start();
  return {
    url,
    start,
    stop,
    async remove() {
      await stop();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

/** Makes the folder of a new server: once for all tests of a run, and for each but the first a copy of that. */
function makeData(data: string, initialize: () => void): void {
  const shared = sharedFolder('postgres-data');
  if (shared !== undefined && existsSync(shared)) {
    copy(shared, data);
    return;
  }
  initialize();
  if (shared === undefined) return;
  const mine = temporaryFolder('postgres-data');
  copy(data, join(mine, 'data'));
  try {
    renameSync(join(mine, 'data'), shared);
  } catch {
    // Another process was there first: it made the same.
  }
}

/** With its owner, who is another user where root runs the tests. */
function copy(from: string, to: string): void {
  execFileSync('cp', ['-a', from, to]);
}

function idOf(option: '-u' | '-g'): number {
  return Number(execFileSync('id', [option, 'postgres'], { encoding: 'utf8' }));
}

function freePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const probe = createServer();
    probe.once('error', reject);
    probe.listen(0, '127.0.0.1', () => {
      const address = probe.address();
      probe.close(() => resolve(typeof address === 'object' && address !== null ? address.port : 0));
    });
  });
}

async function untilItAnswers(url: string, server: ReturnType<typeof spawn>): Promise<void> {
  for (;;) {
    const client = new pg.Client({ connectionString: url });
    try {
      await client.connect();
      await client.end();
      return;
    } catch (error) {
      if (server.exitCode !== null) throw new Error('the PostgreSQL server ended at once', { cause: error });
      await new Promise((resolve) => setTimeout(resolve, 50));
    }
  }
}
