import { randomUUID } from 'node:crypto';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Plan } from '../../src/listening/plan.js';
import { wallClockInstant } from '../../src/schedule/wallClock.js';
import { openMailServerForTest, type TestMailServer } from '../channels/mailServer.js';
import { Sqlite } from '../sqlite.js';
import { addPerson, giveLink, owner, person, screen, signShortProgram, Visitor } from '../support/clinic.js';
import { idOf, placeOf } from '../support/listener.js';
import { agree } from '../support/reminded.js';
import { shareSpoken } from '../support/spokenCache.js';
import { FakeTime, hasFakeTime } from './fakeTime.js';
import { type RunningService, startServe } from './service.js';

/** A Monday, and the day after it. */
const [day, nextDay] = ['2026-12-07', '2026-12-08'];
const at = (time: string, onDay = day, seconds = 0) =>
  wallClockInstant(onDay, time, owner.zone) + seconds * 1_000;
/** In real time; mostly it takes a second, or what is left of the ten between two looks. */
const withinAMinute = { timeout: 60_000, interval: 100 };
const [rosa, otto, carla, dora] = ['rosa', 'otto', 'carla', 'dora'].map((name) => `${name}@example.org`);
const answersAfterMs = 12_000;

let folder: string;
let clock: FakeTime;
let mail: TestMailServer;
let running: RunningService;
let ada: Visitor;
let link: string;
/** Who reports warning signs, and about which session. */
let warned: string;
let place: ReturnType<typeof placeOf>;
const paths = new Map<string | undefined, string>();

const remindersTo = (to: string | undefined) =>
  mail.received.filter((each) => to !== undefined && each.to.includes(to));
const warnings = () =>
  mail.received.filter(({ parsed }) => parsed.subject === 'A warning sign was reported').length;

async function newPerson(name: string, email = ''): Promise<string> {
  const path = await addPerson(ada, { ...person, name, email });
  await screen(ada, path, []);
  paths.set(email, path);
  return path;
}

/** A listener reports a warning sign, as their phone would. */
async function warn(): Promise<void> {
  const item = {
    ...{ kind: 'warning', id: randomUUID(), listeningId: null, ...place, signs: ['faint'] },
    ...{ positionMs: null, atMs: clock.now() },
  };
  const answer = await fetch(new URL(`${link}report`, running.address), {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ sentAtMs: clock.now(), items: [item] }),
  });
  expect(await answer.json()).toEqual({ keptIds: [item.id], refused: [] });
}

/** Deliveries of a patient as the database has them. */
function deliveriesOf(email: string | undefined): { slot: string; state: string; why: string | null }[] {
  const database = new Sqlite(join(folder, 'clinic.db'), { readonly: true });
  try {
    return database
      .prepare(`select slot, state, why, isLate from delivery where patientId = ? and state <> 'waiting'`)
      .all(idOf(paths.get(email) ?? '')) as ReturnType<typeof deliveriesOf>;
  } finally {
    database.close();
  }
}

/** Somebody else is prescribed a program by the clock as it is now, and agrees to be reminded. */
async function prescribeFor(email: string | undefined, ...times: string[]): Promise<void> {
  const path = paths.get(email) ?? '';
  const timesOfDay = Object.fromEntries(times.map((time, index) => [`timesOfDay.${index}`, time]));
  await signShortProgram(ada, path, { timesADay: String(times.length), ...timesOfDay });
  await agree(ada, path, 'reminders');
}

const isSkipped = !hasFakeTime && process.env.CI !== 'true';

/**
 * The service as a clinic starts it, with its own intervals and nothing scaled, under a wall clock that libfaketime sets
 * while it runs; and a mail server that says after 12 s whether it takes a message. One start and one walk through all
 * steps, so that it costs little more than the 12 s and two of the service's looks, which are 10 s apart. A mail server
 * that takes 9 minutes is only in `reminders/slowMail.test.ts`, with what the service waits scaled down.
 */
describe.skipIf(isSkipped)('a service whose clock is set while it runs', () => {
  beforeAll(async () => {
    expect(hasFakeTime, 'libfaketime, of Debian’s package faketime').toBe(true);
    folder = await mkdtemp(join(tmpdir(), 'stillcount-set-clock-'));
    shareSpoken(folder);
    clock = new FakeTime(folder);
    await clock.set(at('07:30'));
    mail = await openMailServerForTest();
    running = await startServe(folder, {
      ...clock.environment,
      STILLCOUNT_MAIL_URL: `smtp://127.0.0.1:${mail.port}`,
      STILLCOUNT_MAIL_FROM: 'clinic@example.org',
      STILLCOUNT_ADDRESS: 'https://clinic.example.org',
    });
    ada = new Visitor(() => running.address);
    await ada.post(new URL(running.link ?? '').pathname, owner);
    await ada.submit('/colleagues/contact', { phone: '0100 555 00', emergencyNumber: '' });
    warned = await newPerson('Wilma Ost');
    await signShortProgram(ada, warned);
    ({ path: link } = await giveLink(ada, warned));
    const plan: Plan = JSON.parse(await (await ada.get(`${link}plan.json`)).text());
    place = placeOf(plan.people[0]?.sessions[0] ?? expect.unreachable('nothing is planned'), idOf(warned));
    await newPerson('Rosa Lind', rosa);
    await newPerson('Otto Fehr', otto);
    await prescribeFor(rosa, '09:00', '13:00', '17:00');
    await prescribeFor(otto, '09:00');
    await newPerson('Carla Ost', carla);
    await newPerson('Dora Ost', dora);
  });
  afterAll(async () => {
    running?.child.kill('SIGKILL');
    await running?.gone;
    await mail?.stop();
    await rm(folder, { recursive: true, force: true });
  });

  it('goes by it from the start', async () => {
    expect(await ada.formToken()).not.toBe('none');
    expect(mail.received).toEqual([]);
    const page = await (await ada.get('/records')).text();
    expect(page).toContain('Dec 7, 2026');
  });

  it('two hours on: sends late what fell due, and whom a server makes wait for 12 s holds up nobody', async () => {
    mail.behaviour = { slowTo: otto ?? '', answersAfterMs };
    await warn();
    await clock.set(at('09:30'));
    await expect.poll(() => remindersTo(otto), withinAMinute).toHaveLength(1);
    expect(deliveriesOf(otto)).toEqual([expect.objectContaining({ state: 'sending' })]);
    mail.behaviour = 'take';
    await expect.poll(() => [remindersTo(rosa).length, warnings()], withinAMinute).toEqual([1, 1]);
    expect(remindersTo(rosa)[0]?.parsed.text).toContain('This reminder is late.');
  });

  it('a day on: the same; what is over is recorded as missed, and what is not answered sent no second time', async () => {
    await warn();
    await clock.set(at('09:32', nextDay));
    await expect.poll(() => [remindersTo(rosa).length, warnings()], withinAMinute).toEqual([2, 2]);
    const [first] = remindersTo(otto);
    const lastMs = Math.max(...mail.received.map(({ atMs }) => atMs));
    expect(lastMs - (first?.atMs ?? 0), 'all that while Otto’s was not answered').toBeLessThan(
      answersAfterMs,
    );
    await expect
      .poll(() => deliveriesOf(rosa), withinAMinute)
      .toEqual(
        expect.arrayContaining([
          expect.objectContaining({ slot: `${day}#1`, state: 'sent', isLate: 1 }),
          expect.objectContaining({ slot: `${day}#2`, state: 'missed', why: 'too-late' }),
          expect.objectContaining({ slot: `${day}#3`, state: 'missed', why: 'too-late' }),
          expect.objectContaining({ slot: `${nextDay}#1`, state: 'sent', isLate: 1 }),
        ]),
      );
    // By the wall clock its lease was over a day ago.
    await expect.poll(() => remindersTo(otto), withinAMinute).toHaveLength(2);
    await expect
      .poll(() => deliveriesOf(otto), withinAMinute)
      .toEqual([
        expect.objectContaining({ slot: `${day}#1`, state: 'sent' }),
        expect.objectContaining({ slot: `${nextDay}#1`, state: 'sent' }),
      ]);
  });

  it('two hours back: warnings go on, and so do reminders that are planned from then on', async () => {
    await clock.set(at('07:31', nextDay, 50));
    await ada.post('/sign-in', owner);
    await prescribeFor(carla, '07:32');
    await warn();
    await expect.poll(() => [remindersTo(carla).length, warnings()], withinAMinute).toEqual([1, 3]);
  });

  it('a day back: the same', async () => {
    await clock.set(at('07:33', day, 50));
    await ada.post('/sign-in', owner);
    await prescribeFor(dora, '07:34', '15:00');
    await warn();
    await expect.poll(() => [remindersTo(dora).length, warnings()], withinAMinute).toEqual([1, 4]);
  });

  it('asleep for hours, as a machine whose lid is closed: sends late what fell due', async () => {
    running.child.kill('SIGSTOP');
    await clock.set(at('15:10'));
    running.child.kill('SIGCONT');
    await warn();
    await expect.poll(() => [remindersTo(dora).length, warnings()], withinAMinute).toEqual([2, 5]);
    expect(remindersTo(dora)[1]?.parsed.text).toContain('This reminder is late.');
  });

  it('has sent one copy of each, and still says that all goes on', async () => {
    const keys = mail.received.map(({ parsed }) => parsed.messageId);
    expect(new Set(keys).size).toBe(keys.length);
    expect([rosa, otto, carla, dora].map((to) => remindersTo(to).length)).toEqual([2, 2, 1, 2]);
    const ready = await (await fetch(`${running.address}/readyz`)).json();
    expect(ready).toMatchObject({ standsStill: [], faults: [] });
  });
});
