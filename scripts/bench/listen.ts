/**
 * Measures how listening performs: from a link to sound, the size of the page, and 500 listeners playing at once, each
 * of whom fetches the session in byte ranges as a browser does. Prints a table; exits with 1 if a bound is exceeded.
 *
 *     npm run bench:listen
 */
import '../heartbeat.js';
import { type ChildProcess, fork } from 'node:child_process';
import { mkdtemp, rm } from 'node:fs/promises';
import { Agent, get as httpGet } from 'node:http';
import { availableParallelism, cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { withCompiled } from './compiled.js';
import { linkToSound } from './linkToSound.js';
import { median } from './timing.js';

type Row = { what: string; measured: string; wanted: string; ok: boolean };

const listeners = 500;
/** A browser reads a range, plays it, and reads on: 15 minutes in about 30 ranges. */
const rangeBytes = 128 * 1024;
const mostPageBytes = 100_000;
/** All of them arrive within this time, as at nine in the morning. */
const arrivalsMs = 30_000;
const sessionMs = 15 * 60_000;
/** Nobody waits a quarter of an hour for a bench; this is equivalent to four times as many listeners. */
const timesAsFast = 4;

type Heard = { firstSoundMs: number; waits: number[] };

const folder = await mkdtemp(join(tmpdir(), 'stillcount-bench-listen-'));
try {
  await withCompiled(async ({ pathOf, env }) => {
    const child = fork(pathOf('listenService.js'), [folder, String(listeners)], {
      env,
      stdio: ['ignore', 'inherit', 'inherit', 'ipc'],
    });
    try {
      await measure(child);
    } finally {
      child.kill();
    }
  });
} finally {
  await rm(folder, { recursive: true, force: true });
}

async function measure(child: ChildProcess): Promise<void> {
  const { address, paths } = await message<{ address: string; paths: string[] }>(child);
  const rows: Row[] = [];

  const opened = await linkToSound(paths.slice(0, 5).map((each) => address + each));
  rows.push(bound('link to sound in a browser, median of 5', opened.quickMs, 'ms', 1_000));
  rows.push(bound('the same on a slow mobile network', opened.slowMs, 'ms', 3_000));
  rows.push(bound('page weight before sound', opened.pageBytes, 'bytes', mostPageBytes));

  const start = performance.now();
  const agent = new Agent({ keepAlive: true, maxSockets: listeners });
  const heard = await Promise.all(paths.map((each, index) => listen(address, each, index, agent)));
  const waits = heard.flatMap((each) => each.waits);
  const firsts = heard.map(({ firstSoundMs }) => firstSoundMs).sort((a, b) => a - b);
  const seconds = (performance.now() - start) / 1000;
  agent.destroy();
  child.send('memory');
  const { largestMb } = await message<{ largestMb: number }>(child);
  waits.sort((a, b) => a - b);
  rows.push(bound(`largest resident memory, ${listeners} listeners`, largestMb, 'MB', 400));
  const slowestFirst = firsts[Math.floor(firsts.length * 0.95)] ?? Number.NaN;
  rows.push(
    bound(`link to sound, p95 of ${listeners} within ${arrivalsMs / 1000} s`, slowestFirst, 'ms', 3_000),
  );
  // Browsers request at least half a range ahead: if the response arrives sooner than that, nobody hears a gap.
  rows.push(
    bound(
      `slowest byte range, all at ${timesAsFast} times the pace`,
      waits.at(-1) ?? Number.NaN,
      'ms',
      4_500,
    ),
  );
  console.log(
    `${cpus()[0]?.model ?? 'unknown processor'}, ${availableParallelism()} cores, Node.js ${process.version}; ` +
      `${waits.length} byte ranges in ${seconds.toFixed(1)} s, median ${median(waits).toFixed(0)} ms.\n`,
  );
  console.log('| what | measured | wanted | kept |\n|---|---|---|---|');
  for (const row of rows)
    console.log(`| ${row.what} | ${row.measured} | ${row.wanted} | ${row.ok ? 'yes' : 'NO'} |`);
  process.exitCode = rows.every(({ ok }) => ok) ? 0 : 1;
}

function bound(what: string, measured: number, unit: string, most: number): Row {
  return {
    what,
    measured: `${measured.toFixed(0)} ${unit}`,
    wanted: `under ${most} ${unit}`,
    ok: measured < most,
  };
}

function message<Message>(child: ChildProcess): Promise<Message> {
  return new Promise((resolve, reject) => {
    child.once('message', (said) => resolve(said as Message));
    child.once('exit', () => reject(new Error('the service ended')));
  });
}

function firstSession(page: string): { session: string; audio: string } {
  const json = /<script[^>]*type="application\/json"[^>]*>(.*?)<\/script>/s.exec(page)?.[1] ?? '';
  const session = JSON.parse(json).people[0].sessions[0];
  return { session: session.session, audio: session.audio };
}

/**
 * Starts at some time in the first seconds and requests one range after the other, at the pace of playback.
 *
 * @returns how long the first range took from opening the page, and how long each range took, ms
 */
async function listen(address: string, path: string, index: number, agent: Agent): Promise<Heard> {
  await new Promise((resolve) => setTimeout(resolve, (index / listeners) * arrivalsMs));
  const start = performance.now();
  const { audio } = firstSession(await (await fetch(address + path)).text());
  const waits: number[] = [];
  let total = Number.POSITIVE_INFINITY;
  let firstSoundMs = 0;
  for (let at = 0; at < total; at += rangeBytes) {
    const asked = performance.now();
    total = await range(`${address}${path}${audio}`, at, agent);
    const wait = performance.now() - asked;
    if (at === 0) firstSoundMs = performance.now() - start;
    waits.push(wait);
    const heardMs = ((rangeBytes / total) * sessionMs) / timesAsFast;
    await new Promise((resolve) => setTimeout(resolve, Math.max(0, heardMs - wait)));
  }
  return { firstSoundMs, waits };
}

/** @returns the length of the whole file */
function range(url: string, start: number, agent: Agent): Promise<number> {
  return new Promise((resolve, reject) => {
    const headers = { range: `bytes=${start}-${start + rangeBytes - 1}` };
    const request = httpGet(url, { agent, headers }, (response) => {
      if (response.statusCode !== 206) return reject(new Error(`answered with ${response.statusCode}`));
      const total = Number(response.headers['content-range']?.split('/')[1]);
      response
        .on('error', reject)
        .on('end', () => resolve(total))
        .resume();
    });
    request.on('error', (error) => {
      // The service closed an idle connection just as it was reused: browsers retry.
      if (request.reusedSocket) resolve(range(url, start, agent));
      else reject(error);
    });
  });
}
