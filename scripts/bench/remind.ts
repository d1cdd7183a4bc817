/**
 * Measures how fast reminders that are all due at the same minute are claimed, checked again and sent: on SQLite with
 * one process, on PostgreSQL with one and with two; and what that means for a million patients. Prints tables; exits
 * with 1 if a bound is exceeded.
 *
 *     npm run bench:remind
 */
import '../heartbeat.js';
import { type ChildProcess, fork } from 'node:child_process';
import { mkdtemp, rm } from 'node:fs/promises';
import { availableParallelism, cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { openStore, type StoreSettings } from '../../src/store/engine/openStore.js';
import { makePostgresServer, postgresPrograms } from '../../tests/store/postgresServer.js';
import { fillWithReminders } from './remindFill.js';
import { peaksOfAMillion } from './remindMillion.js';

const people = 50_000;
const mostSeconds = 20;
/** The second half of a run compared with its first half: the time must not grow with the number sent. */
const mostGrowth = 1.2;
const dueAtMs = Date.UTC(2026, 11, 1, 9);

type Told = { sent: number; seconds: number; memory: number[] };
type Row = { what: string; measured: string; wanted: string; ok: boolean };
const rows: Row[] = [];

const folder = await mkdtemp(join(tmpdir(), 'stillcount-bench-remind-'));
const programs = postgresPrograms();
const server = programs === undefined ? null : await makePostgresServer(programs);
try {
  const [sqlite] = await send({ kind: 'sqlite', file: join(folder, 'clinic.db') }, 1);
  if (sqlite === undefined) throw new RangeError('one process sends');
  rows.push(
    within(`${people} due at one minute, SQLite`, sqlite.seconds, mostSeconds, 's'),
    within('memory of the second half over the first', growth(sqlite.memory), mostGrowth, 'times'),
    within('largest resident memory', Math.max(...sqlite.memory), 400, 'MB'),
  );
  let perSecond = people / sqlite.seconds;
  if (server !== null) {
    const [alone] = await send({ kind: 'postgres', url: server.url, backups: 'none' }, 1);
    const both = await again({ kind: 'postgres', url: server.url, backups: 'none' });
    const sent = both.reduce((sum, each) => sum + each.sent, 0);
    const seconds = Math.max(...both.map((each) => each.seconds));
    rows.push(
      within('the same on PostgreSQL, one process', alone?.seconds ?? Number.NaN, 60, 's'),
      within('the same, two processes', seconds, 60, 's'),
      {
        what: 'sent by two processes, each once',
        measured: `${sent}`,
        wanted: `${people}`,
        ok: sent === people,
      },
      {
        what: 'smaller share of the two',
        measured: `${Math.min(...both.map((each) => each.sent))}`,
        wanted: `at least ${people / 5}`,
        ok: Math.min(...both.map((each) => each.sent)) >= people / 5,
      },
    );
    perSecond = people / seconds;
  }
  console.log(`${cpus()[0]?.model}, ${availableParallelism()} cores, Node.js ${process.version}\n`);
  console.log('| what | measured | wanted | kept |\n|---|---|---|---|');
  for (const { what, measured, wanted, ok } of rows) {
    console.log(`| ${what} | ${measured} | ${wanted} | ${ok ? 'yes' : 'NO'} |`);
  }
  console.log(`\nA million patients, at ${Math.round(perSecond)} a second as measured last:\n`);
  console.log(peaksOfAMillion(perSecond));
} finally {
  await server?.remove();
  await rm(folder, { recursive: true, force: true });
}
process.exitCode = rows.every(({ ok }) => ok) ? 0 : 1;

async function send(settings: StoreSettings, processes: number): Promise<Told[]> {
  const store = await openStore(settings);
  await store.write((db) => fillWithReminders(db, people, dueAtMs));
  await store.close();
  return run(settings, processes);
}

/** Sends the same deliveries again, with two processes. */
async function again(settings: StoreSettings): Promise<Told[]> {
  const store = await openStore(settings);
  await store.write((db) =>
    db.updateTable('delivery').set({ state: 'waiting', nextAtMs: dueAtMs, attempts: 0 }).execute(),
  );
  await store.close();
  return run(settings, 2);
}

async function run(settings: StoreSettings, processes: number): Promise<Told[]> {
  const file = fileURLToPath(new URL('remindProcess.ts', import.meta.url));
  const children = Array.from({ length: processes }, () =>
    fork(file, [JSON.stringify(settings), String(dueAtMs)], { execArgv: ['--import', 'tsx'] }),
  );
  await Promise.all(children.map((child) => message(child)));
  const told = children.map((child) => message<Told>(child));
  for (const child of children) child.send('go');
  return Promise.all(told);
}

function message<Message>(child: ChildProcess): Promise<Message> {
  return new Promise((resolve, reject) => {
    child.once('message', (value) => resolve(value as Message));
    child.once('exit', (code) => reject(new Error(`a process ended with ${code}`)));
  });
}

function growth(memory: readonly number[]): number {
  const half = Math.ceil(memory.length / 2);
  return Math.max(...memory.slice(half)) / Math.max(...memory.slice(0, half));
}

function within(what: string, measured: number, most: number, unit: string): Row {
  const digits = unit === 'times' ? 2 : 1;
  return {
    what,
    measured: `${measured.toFixed(digits)} ${unit}`,
    wanted: `at most ${most} ${unit}`,
    ok: measured <= most,
  };
}
