import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addDays, isoDayIn, wallClockInstant } from '../../../src/schedule/wallClock.js';
import { type ReadEvent, readCalendar } from '../../documents/calendarReader.js';
import { giveLink } from '../../support/clinic.js';
import { formOf } from '../../support/forms.js';
import { dayMs, idOf, ListeningClinic, placeOf } from '../../support/listener.js';

const zone = 'Europe/Vienna';
let at: ListeningClinic;
let address: string;

beforeAll(async () => {
  at = await ListeningClinic.open({ timesADay: '2' });
  address = await give();
});
afterAll(() => at.clinic.remove());

async function give(link = at.rosaLink, name = 'calendar'): Promise<string> {
  const given: { address: string } = JSON.parse(await (await at.guest().post(`${link}${name}`, {})).text());
  return given.address;
}

const text = async () => (await at.guest().get(address)).text();
const events = async () => readCalendar(await text()).events;
const nowMs = () => Date.now() + at.clinic.clock.aheadMs;
const coming = (all: readonly ReadEvent[]) => all.filter(({ startsAtMs }) => startsAtMs > nowMs());
const byUid = (all: readonly ReadEvent[]) => new Map(all.map((each) => [each.uid, each]));

describe('a calendar', () => {
  it('is read by an independent reader, with every session of the next twelve weeks where the plan has it', async () => {
    const answer = await at.guest().get(address);
    expect(answer.headers.get('content-type')).toBe('text/calendar; charset=utf-8');
    expect(answer.headers.get('cache-control')).toBe('private, no-cache');
    const today = isoDayIn(Date.now(), zone);
    const days = Array.from({ length: 85 }, (_, ahead) => addDays(today, ahead));
    const planned = days
      .flatMap((day) => ['09:00', '17:00'].map((time) => wallClockInstant(day, time, zone)))
      .filter((dueAtMs) => dueAtMs > Date.now());
    const found = coming(readCalendar(await answer.text()).events);
    expect(found.map(({ startsAtMs }) => startsAtMs)).toEqual(planned);
    const plan = await at.planOf(at.rosaLink);
    const later = plan.people[0]?.sessions.filter(({ state }) => state === 'later') ?? [];
    expect(later.length).toBeGreaterThan(2);
    for (const { dueAtMs } of later) expect(planned).toContain(dueAtMs);
    // The shortest program that there is takes about five minutes, lying down among them; whole fives are told.
    const minutes = 5 * Math.ceil((later[0]?.minutes ?? Number.NaN) / 5);
    for (const each of found) {
      expect(each).toMatchObject({ status: 'CONFIRMED', alarmsAtMs: [each.startsAtMs], zone });
      expect([5, 10]).toContain(each.durationSeconds / 60);
      expect(
        Math.abs(each.durationSeconds / 60 - minutes),
        'as the plan has it, rounded',
      ).toBeLessThanOrEqual(5);
    }
  });

  it('tells whoever looks over a shoulder neither who it is nor what for, and whoever reads it whom to call', async () => {
    await at.ada.submit('/colleagues/contact', { phone: '0100 555 00', emergencyNumber: '112' });
    const found = await events();
    const written = await text();
    const { prescriptionId } = (await at.firstSession(at.rosaLink)).session;
    for (const secret of ['Rosa', 'Lind', 'Short program', 'Quillmere', idOf(at.rosaPath)]) {
      expect(written.replaceAll('\r\n ', '')).not.toContain(secret);
    }
    expect(new Set(found.map(({ summary }) => summary))).toEqual(new Set(['Your session']));
    expect(found[0]?.description).toContain(`About ${(found[0]?.durationSeconds ?? 0) / 60} minutes.`);
    expect(found[0]?.description).toMatch(
      /^About \d+ minutes\..*\nNot well.*Do not begin\. Call your clinic first: 0100 555 00\.\nIn an emergency, call 112/s,
    );
    expect(found.every(({ uid }) => uid.endsWith(`.${prescriptionId}@stillcount`))).toBe(true);
  });

  it('is sent once for as long as it stays the same', async () => {
    const etag = (await at.guest().get(address)).headers.get('etag') ?? '';
    expect(await at.statusOf(address, { 'if-none-match': etag })).toBe(304);
    expect(await text()).toBe(await text());
    expect(await at.statusOf(address, { 'if-none-match': '"another"' })).toBe(200);
  });

  it('is taken off whole by a pause, comes back with the program, and both are newer than before', async () => {
    const before = byUid(coming(await events()));
    const etag = (await at.guest().get(address)).headers.get('etag') ?? '';
    await at.ada.submit(`${at.programPath}/state`, { state: 'paused', reason: 'On holiday' });
    expect(await at.statusOf(address, { 'if-none-match': etag }), 'it is another one now').toBe(200);
    const paused = byUid(coming(await events()));
    expect([...paused.keys()]).toEqual([...before.keys()]);
    for (const [uid, { status, alarmsAtMs, sequence, startsAtMs, summary }] of paused) {
      expect([uid, status, alarmsAtMs]).toEqual([uid, 'CANCELLED', []]);
      expect(summary).toBe('No session now');
      expect(sequence).toBeGreaterThan(before.get(uid)?.sequence ?? Number.NaN);
      expect(startsAtMs).toBe(before.get(uid)?.startsAtMs);
    }
    await at.ada.submit(`${at.programPath}/state`, { state: 'active', reason: 'Back home' });
    const resumed = byUid(coming(await events()));
    for (const [uid, { status, sequence }] of resumed) {
      expect([uid, status]).toEqual([uid, 'CONFIRMED']);
      expect(sequence).toBeGreaterThan(paused.get(uid)?.sequence ?? Number.NaN);
    }
  });

  it('follows a version that is signed anew', async () => {
    const before = byUid(coming(await events()));
    const form = await formOf(await at.ada.get(`${at.programPath}/change`));
    const changed = { ...form, 'timesOfDay.0': '08:15', 'timesOfDay.1': '18:45' };
    const signed = await at.ada.post(`${at.programPath}/change`, {
      ...changed,
      reason: 'Earlier',
      do: 'sign',
    });
    expect(signed.status).toBe(303);
    const after = coming(await events());
    const tomorrow = addDays(isoDayIn(Date.now(), zone), 1);
    const there = after.filter(({ startsAtMs }) => isoDayIn(startsAtMs, zone) === tomorrow);
    expect(there.map(({ start, status }) => [start, status])).toEqual([
      [`${tomorrow}T08:15:00`, 'CONFIRMED'],
      [`${tomorrow}T18:45:00`, 'CONFIRMED'],
    ]);
    for (const { uid, sequence } of there) {
      expect(sequence).toBeGreaterThan(before.get(uid)?.sequence ?? Number.NaN);
    }
  });

  it('leaves out a break, and takes it in again when it is taken back', async () => {
    const [from, until] = [10, 12].map((ahead) => addDays(isoDayIn(Date.now(), zone), ahead));
    const onBreak = async () =>
      (await events()).filter(({ startsAtMs }) => {
        const day = isoDayIn(startsAtMs, zone);
        return day >= (from ?? '') && day <= (until ?? '');
      });
    const before = await onBreak();
    const added = { kind: 'holiday', fromDay: from ?? '', untilDay: until ?? '', note: '' };
    await at.ada.submit(`${at.rosaPath}/breaks`, added);
    const away = await onBreak();
    expect(away.map(({ uid, status }) => [uid, status])).toEqual(before.map(({ uid }) => [uid, 'CANCELLED']));
    const page = await at.page(`${at.rosaPath}/reminders`);
    const breakId = /\/breaks\/([\w-]{36})\//.exec(page.replaceAll('&#x2F;', '/'))?.[1] ?? '';
    await at.ada.submit(`${at.rosaPath}/breaks/${breakId}/end`, { untilDay: from ?? '' });
    const shorter = await onBreak();
    expect(shorter.map(({ status }) => status)).toEqual([
      ...['CANCELLED', 'CANCELLED'],
      ...['CONFIRMED', 'CONFIRMED', 'CONFIRMED', 'CONFIRMED'],
    ]);
    const left = await at.page(`${at.rosaPath}/reminders`);
    const leftId = /\/breaks\/([\w-]{36})\//.exec(left.replaceAll('&#x2F;', '/'))?.[1] ?? '';
    await at.ada.submit(`${at.rosaPath}/breaks/${leftId}/take-back`, {});
    const back = await onBreak();
    back.forEach(({ uid, status, sequence, startsAtMs }, index) => {
      expect([uid, status, startsAtMs]).toEqual([before[index]?.uid, 'CONFIRMED', before[index]?.startsAtMs]);
      expect(sequence).toBeGreaterThan(before[index]?.sequence ?? Number.NaN);
      expect(sequence).toBeGreaterThanOrEqual(shorter[index]?.sequence ?? Number.NaN);
    });
    expect(shorter.every(({ sequence }, index) => sequence > (away[index]?.sequence ?? 0) || index < 2)).toBe(
      true,
    );
  });

  it('moves with the patient to another zone, each session once', async () => {
    // Of today some are over here, and still to come there; and where it is still yesterday, the last day is one too far.
    const today = isoDayIn(Date.now(), zone);
    const last = addDays(isoDayIn(Date.now(), 'America/New_York'), 84);
    const before = byUid(
      coming(await events()).filter(({ startsAtMs }) => {
        const day = isoDayIn(startsAtMs, zone);
        return day > today && day <= last;
      }),
    );
    expect(before.size).toBeGreaterThan(150);
    const form = await formOf(await at.ada.get(`${at.rosaPath}/edit`));
    await at.ada.submit(`${at.rosaPath}/edit`, { ...form, name: 'Rosa Lind', zone: 'America/New_York' });
    const after = byUid(await events());
    for (const [uid, { start, sequence }] of before) {
      const there = after.get(uid);
      expect([uid, there?.start, there?.zone]).toEqual([uid, start, 'America/New_York']);
      expect(there?.sequence).toBeGreaterThan(sequence);
    }
    await at.ada.submit(`${at.rosaPath}/edit`, {
      ...(await formOf(await at.ada.get(`${at.rosaPath}/edit`))),
      zone,
    });
  });

  it('holds everything back while a warning sign waits for an answer', async () => {
    const { session } = await at.firstSession(at.rosaLink);
    const warning = { kind: 'warning', id: randomUUID(), listeningId: null, signs: ['new-back-pain'] };
    const place = placeOf(session, idOf(at.rosaPath));
    await at.report(at.rosaLink, [{ ...warning, ...place, positionMs: 0, atMs: Date.now() }]);
    expect(new Set(coming(await events()).map(({ status }) => status))).toEqual(new Set(['CANCELLED']));
    const note = 'Called: muscle ache from gardening, goes on';
    const seenUpToMs = String(Date.now());
    await at.ada.submit(`${at.rosaPath}/warnings`, { seenUpToMs, outcome: 'go-on', note });
    expect(new Set(coming(await events()).map(({ status }) => status))).toContain('CONFIRMED');
  });

  it('ends with the program: all that was to come is taken off, what was stays', async () => {
    await at.ada.submit(`${at.programPath}/state`, { state: 'ended', reason: 'Goals reached' });
    expect(new Set(coming(await events()).map(({ status }) => status))).toEqual(new Set(['CANCELLED']));
    at.clinic.clock.aheadMs = 100 * dayMs;
    expect(await events(), 'and no trace is left in the end').toEqual([]);
    at.clinic.clock.aheadMs = 0;
  });
});

describe('the address of a calendar', () => {
  it('opens nothing else, and nothing else opens it', async () => {
    const token = /\/calendar\/([\w-]{43})\.ics/.exec(address)?.[1] ?? '';
    const linkToken = at.rosaLink.split('/')[2] ?? '';
    const feedToken = /\/feed\/([\w-]{43})\.xml/.exec(await give(at.rosaLink, 'feed'))?.[1] ?? '';
    const dead = await at.guest().get('/calendar/nothing.ics');
    expect(dead.status).toBe(404);
    const body = await dead.text();
    for (const path of [`/l/${token}/`, `/feed/${token}.xml`]) {
      expect([path, (await at.guest().get(path)).status]).toEqual([path, 404]);
    }
    for (const other of [linkToken, feedToken, 'A'.repeat(43)]) {
      const answer = await at.guest().get(`/calendar/${other}.ics`);
      expect([answer.status, await answer.text()], 'word for word the same').toEqual([404, body]);
    }
  });

  it('is one at a time: a new one ends the one before, and it is ended when that is wanted', async () => {
    const before = address;
    address = await give();
    expect((await at.guest().get(before)).status).toBe(404);
    expect((await at.guest().get(address)).status).toBe(200);
    expect(await at.page(at.rosaPath)).toContain('calendar address made');
    expect((await at.guest().post(`${at.rosaLink}calendar/end`, {})).status).toBe(200);
    expect((await at.guest().get(address)).status).toBe(404);
    expect(await at.page(at.rosaPath)).not.toContain('calendar address made');
    expect((await at.guest().get(await give())).status, 'and given anew').toBe(200);
  });

  it('is for patients only', async () => {
    await at.ada.submit(`${at.rosaPath}/caregivers`, { name: 'Jule Lind', relation: 'daughter' });
    const caregiverId = /\/caregivers\/([\w-]{36})\/link/.exec(await at.page(at.rosaPath))?.[1] ?? '';
    const { path } = await giveLink(at.ada, `${at.rosaPath}/caregivers/${caregiverId}`);
    expect((await at.guest().get(path)).status).toBe(200);
    expect((await at.guest().post(`${path}calendar`, {})).status).toBe(404);
  });

  it('ends with the link, whether that is replaced or ended', async () => {
    address = await give();
    at.rosaLink = (await giveLink(at.ada, at.rosaPath)).path;
    expect((await at.guest().get(address)).status, 'replaced').toBe(404);
    address = await give();
    expect((await at.guest().get(address)).status).toBe(200);
    await at.ada.submit(`${at.rosaPath}/link/end`, {});
    expect((await at.guest().get(address)).status, 'ended').toBe(404);
    expect((await at.guest().post(`${at.rosaLink}calendar`, {})).status).toBe(404);
  });

  it('stands in no log, and what was done with it on the trail', async () => {
    const log = at.clinic.logged.join('\n');
    expect(log).toContain('"route":"/calendar/:token.ics"');
    expect(log).not.toContain(/\/calendar\/([\w-]{43})\.ics/.exec(address)?.[1] ?? '');
    const trail = await at.page('/records');
    expect(trail).toContain('Calendar address made');
    expect(trail).toContain('Calendar address ended');
  });

  it('is tried only so often', async () => {
    let status = 404;
    for (let tries = 0; tries < 320 && status === 404; tries += 1) {
      status = (await at.guest().get(`/calendar/${'B'.repeat(43)}.ics`)).status;
    }
    expect(status).toBe(429);
  });
});
