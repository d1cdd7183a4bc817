import { type ChildProcess, fork } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build } from 'esbuild';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { wallClockInstant } from '../../src/schedule/wallClock.js';
import { firstDay, zone } from './world.js';

const hourMs = 3_600_000;
const toldSchema = z.object({ kind: z.string(), key: z.string() });

let folder: string;
let child: ChildProcess;
const told: z.infer<typeof toldSchema>[] = [];
let onTold: () => void = () => undefined;

/** Waits until so many of a kind were told; the time of the test is the limit. */
async function whenTold(kind: string, count: number): Promise<void> {
  while (countOf(kind) < count) {
    await new Promise<void>((resolve) => {
      onTold = resolve;
    });
  }
}

function countOf(kind: string): number {
  return told.filter((each) => each.kind === kind).length;
}

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-clock-'));
  const life = join('dist', 'tests', 'clock', 'clockLife.js');
  // Compiled into the project, where it finds the packages that cannot be in it.
  await build({
    ...{ entryPoints: ['tests/reminders/clockLife.ts'], outdir: join('dist', 'tests', 'clock') },
    ...{ bundle: true, format: 'esm', platform: 'node', splitting: true },
    external: ['better-sqlite3', 'pg', 'pg-native'],
    define: { 'import.meta.dirname': JSON.stringify(join(process.cwd(), 'tests', 'reminders')) },
    banner: {
      js: "import { createRequire as requireFrom } from 'node:module'; const require = requireFrom(import.meta.url);",
    },
  });
  const beginsAtMs = wallClockInstant(firstDay, '07:30', zone);
  child = fork(life, [join(folder, 'clinic.db'), String(beginsAtMs)], { execArgv: [] });
  child.on('message', (message) => {
    told.push(toldSchema.parse(message));
    onTold();
  });
  await whenTold('begun', 1);
}, 60_000);
afterAll(async () => {
  const gone = once(child, 'exit');
  child.disconnect();
  await gone;
  await rm(folder, { recursive: true, force: true });
});

/**
 * With the real timers of a process of its own, whose wall clock is set under it: what node-cron alone did was to sleep
 * for the whole distance that the clock had gone back.
 */
describe('a wall clock that is set while the service runs', () => {
  it.each([
    ['two hours on', 2 * hourMs, 'the reminder of nine, late'],
    ['two hours back', -2 * hourMs, null],
    ['a day on', 24 * hourMs, null],
    ['a day back', -24 * hourMs, null],
    ['a day on again', 24 * hourMs, null],
    // A machine that sleeps stands still, timers and all, and only its wall clock goes on.
    ['two hours of sleep', 2 * hourMs, 'the reminder of nine of that day, late'],
  ])('%s: what is due then is sent at once', { timeout: 20_000 }, async (name, byMs, reminder) => {
    const [warnings, reminders] = [countOf('warning'), countOf('due')];
    if (name.includes('sleep')) child.kill('SIGSTOP');
    child.send(byMs);
    if (name.includes('sleep')) child.kill('SIGCONT');
    await whenTold('warning', warnings + 1);
    if (reminder !== null) await whenTold('due', reminders + 1);
  });

  it('has sent nothing twice', () => {
    expect(new Set(told.map(({ key }) => key)).size).toBe(told.length);
    expect([countOf('due'), countOf('warning')]).toEqual([2, 6]);
  });
});
