/**
 * Measures how fast the clinic's pages respond with many people in the store: 50 requests a second for some seconds, as
 * browsers would send them, and the time from start to first response. Prints a table; exits with 1 if a bound is
 * exceeded.
 *
 *     npx tsx scripts/bench/serve.ts
 */
import '../heartbeat.js';
import { mkdtemp, rm } from 'node:fs/promises';
import { availableParallelism, cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { hashToken, newToken } from '../../src/clinic/tokens.js';
import { startService } from '../../src/service/start.js';
import { makeScript, previewScript } from '../../src/session/makeSession.js';
import { readProgramFile } from '../../src/session/readProgramFile.js';
import { readSettings } from '../../src/session/settings.js';
import { openWorkshop } from '../../src/session/workshop.js';
import { addAuditEntry } from '../../src/store/accounts/audit.js';
import { beginSignIn } from '../../src/store/accounts/signInSessions.js';
import { type Db, openStore } from '../../src/store/engine/openStore.js';
import { addBenchPatient, type BenchClinic, makeBenchClinic } from './benchClinic.js';
import { median, secondsOf, secondsOfFive } from './timing.js';

type Row = { what: string; measured: string; wanted: string; ok: boolean };

const people = 10_000;
/** A year in which each person's record was opened about once a month. */
const readingsEach = 12;
const requestsASecond = 50;
const seconds = 8;

const folder = await mkdtemp(join(tmpdir(), 'stillcount-bench-serve-'));
const environment = { ...process.env, STILLCOUNT_DATA: folder, STILLCOUNT_PORT: '0' };
try {
  const token = newToken();
  const patientIds = await fill(token);
  let service: Awaited<ReturnType<typeof startService>> | undefined;
  const startSeconds = await secondsOf(async () => {
    service = await startService(environment, () => undefined);
    await fetch(`${service.address}/sign-in`);
  });
  if (service === undefined) throw new RangeError('the service was started');
  const { address } = service;
  const cookie = `stillcount=${token}`;
  const get = (path: string) => fetch(`${address}${path}`, { headers: { cookie } });
  const search = (q: string) =>
    fetch(address, {
      method: 'POST',
      headers: { cookie, 'sec-fetch-site': 'same-origin' },
      body: new URLSearchParams({ q, formToken: 'form' }),
    });
  const pages: [string, (index: number) => Promise<Response>][] = [
    ['home page', () => get('/')],
    ['search by part of a name', (index) => search(String(index % 100))],
    ["a person's page", (index) => get(`/patients/${patientIds[(index * 7919) % people]}`)],
  ];
  const rows: Row[] = [
    {
      what: 'start to first answer',
      measured: `${startSeconds.toFixed(2)} s`,
      wanted: 'under 2 s',
      ok: startSeconds < 2,
    },
  ];
  for (const [what, request] of pages) {
    const p95Ms = await p95Of(request);
    const measured = `${p95Ms.toFixed(1)} ms`;
    rows.push({ what: `${what}, p95`, measured, wanted: 'under 50 ms', ok: p95Ms < 50 });
  }
  await service.stop();
  rows.push(await preview());
  console.log(
    `${cpus()[0]?.model ?? 'unknown processor'}, ${availableParallelism()} cores, Node.js ${process.version}; ` +
      `${people} people, ${requestsASecond} requests a second, from the same machine.\n`,
  );
  console.log('| what | measured | wanted | kept |\n|---|---|---|---|');
  for (const row of rows) {
    console.log(`| ${row.what} | ${row.measured} | ${row.wanted} | ${row.ok ? 'yes' : 'NO'} |`);
  }
  process.exitCode = rows.every(({ ok }) => ok) ? 0 : 1;
} finally {
  await rm(folder, { recursive: true, force: true });
}

/** Fills a clinic with people, their programs and a year of record views; signed in with this token. */
async function fill(token: string): Promise<string[]> {
  const store = await openStore({ kind: 'sqlite', file: join(folder, 'clinic.db') });
  const nowMs = Date.now();
  const ids = await store.write(async (db) => {
    const made = await makeBenchClinic(db, nowMs);
    const signIn = { tokenHash: hashToken(token), clinicianId: made.clinicianId, formToken: 'form', nowMs };
    await beginSignIn(db, { ...signIn, expiresAtMs: nowMs + 3_600_000 });
    const made10k: string[] = [];
    for (let index = 0; index < people; index += 1) made10k.push(await addPerson(db, made, index, nowMs));
    return made10k;
  });
  await store.close();
  return ids;
}

async function addPerson(db: Db, clinic: BenchClinic, index: number, nowMs: number): Promise<string> {
  const { clinicId, clinicianId } = clinic;
  const name = `Person ${(index * 7919) % people}`;
  const patientId = await addBenchPatient(db, clinic, { name, content: {}, nowMs });
  for (let reading = 0; reading < readingsEach; reading += 1) {
    const entry = { clinicId, clinicianId, patientId, subject: patientId, action: 'patient-read' };
    await addAuditEntry(db, { ...entry, atMs: nowMs });
  }
  return patientId;
}

/** Sends requests at a steady rate, whether or not earlier ones have been answered. */
async function p95Of(send: (index: number) => Promise<Response>): Promise<number> {
  const times: Promise<number>[] = [];
  for (let index = 0; index < requestsASecond * seconds; index += 1) {
    times.push(
      secondsOf(async () => {
        const response = await send(index);
        await response.text();
        if (response.status !== 200) throw new RangeError(`answered with ${response.status}`);
      }),
    );
    await new Promise((resolve) => setTimeout(resolve, 1000 / requestsASecond));
  }
  const sorted = (await Promise.all(times)).sort((a, b) => a - b);
  return (sorted[Math.floor(sorted.length * 0.95)] ?? Number.NaN) * 1000;
}

/** Lays out a longer program again, with all its speech cached. */
async function preview(): Promise<Row> {
  const workshop = await openWorkshop(readSettings(environment));
  const path = fileURLToPath(new URL('../../audio-templates/en/programs/progressed.yaml', import.meta.url));
  const program = await readProgramFile(path, workshop);
  const { script } = await makeScript(program, workshop);
  const ms = median(await secondsOfFive(() => previewScript(program, workshop))) * 1000;
  return {
    what: `laying out ${(script.durationMs / 60_000).toFixed(0)} minutes again, median of 5`,
    measured: `${ms.toFixed(1)} ms`,
    wanted: 'under 50 ms',
    ok: ms < 50,
  };
}
