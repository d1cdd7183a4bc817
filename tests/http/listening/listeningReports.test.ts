import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ReportAnswer } from '../../../src/listening/report.js';
import { addPerson, giveLink, screen, signShortProgram } from '../../support/clinic.js';
import { dayMs, idOf, ListeningClinic, placeOf } from '../../support/listener.js';

let at: ListeningClinic;

beforeAll(async () => {
  at = await ListeningClinic.open();
});
afterAll(() => at.clinic.remove());

describe('what a phone tells', () => {
  it('is kept once, on the service’s clock, whatever the phone’s clock says', async () => {
    const { session, plan } = await at.firstSession(at.rosaLink);
    expect(plan.people[0]?.isFirst).toBe(true);
    const place = placeOf(session, idOf(at.rosaPath));
    const listeningId = randomUUID();
    const wrongByMs = 5 * 60 * 60_000;
    const phoneNow = Date.now() + wrongByMs;
    const step = (name: string, positionMs: number, agoMs: number) => ({
      kind: 'step',
      id: randomUUID(),
      listeningId,
      ...place,
      step: name,
      positionMs,
      atMs: phoneNow - agoMs,
    });
    const items = [
      step('started', 0, 200_000),
      step('reached', 60_000, 140_000),
      step('finished', 150_000, 50_000),
    ];
    const answer = await (await at.report(at.rosaLink, items, phoneNow)).json();
    expect(answer).toEqual({ keptIds: items.map(({ id }) => id), refused: [] });
    expect(await (await at.report(at.rosaLink, items, phoneNow)).json(), 'again').toEqual(answer);
    const checkIn = {
      kind: 'check-in',
      id: randomUUID(),
      listeningId,
      ...place,
      answers: { done: 'most', painBefore: 3, painAfter: 2, effort: null, note: 'Arms felt <light>' },
      atMs: phoneNow,
    };
    expect((await at.report(at.rosaLink, [checkIn], phoneNow)).status).toBe(200);
    const record = await (await at.ada.get(`${at.rosaPath}/heard`)).text();
    expect(record.match(/Short program: heard 2 min 30 s, to the end/g)).toHaveLength(1);
    expect(record).toContain('pain before 3, after 2; effort skipped; warning signs: not asked');
    expect(record).toContain('Arms felt &lt;light&gt;');
    const after = await at.planOf(at.rosaLink);
    expect(after.people[0]?.isFirst).toBe(false);
    expect(after.people[0]?.sessions.find(({ slot }) => slot === session.slot)?.state).toBe('done');
  });

  it('stays in the order in which it was told, though one report was longer on its way than the next', async () => {
    const { session } = await at.firstSession(at.rosaLink);
    const about = { kind: 'step', listeningId: randomUUID(), ...placeOf(session, idOf(at.rosaPath)) };
    const step = (name: string, positionMs: number, atMs: number) => ({
      ...about,
      ...{ id: randomUUID(), step: name, positionMs, atMs },
    });
    const nowMs = Date.now();
    const lateMs = 8_000;
    const stop = [
      step('started', 0, nowMs - 100_000 - lateMs),
      step('stopped', 60_000, nowMs - 40_000 - lateMs),
    ];
    await at.report(at.rosaLink, stop, nowMs - lateMs);
    // Sent after the stop, as it was a mistake, and quickly there; all at one moment of a fast phone.
    const goesOn = [
      step('resumed', 60_000, nowMs - 40_000),
      step('paused', 60_000, nowMs - 40_000),
      step('resumed', 60_000, nowMs - 40_000),
      step('reached', 99_000, nowMs - 1_000),
    ];
    await at.report(at.rosaLink, goesOn, nowMs + 1_000);
    const record = await (await at.ada.get(`${at.rosaPath}/heard`)).text();
    expect(record, 'the minute before the stop and the 39 s after it').toContain('heard 1 min 39 s');
  });

  it('that is wrong is named and holds up nothing else', async () => {
    const { session } = await at.firstSession(at.rosaLink);
    const place = placeOf(session, idOf(at.rosaPath));
    const good = { kind: 'not-today', id: randomUUID(), ...place, reason: 'unwell', atMs: Date.now() };
    const answer = await at.report(at.rosaLink, [
      { ...good, id: randomUUID(), reason: 'lazy' },
      good,
      { ...good, id: randomUUID(), prescriptionId: randomUUID() },
      { ...good, id: randomUUID(), patientId: randomUUID() },
    ]);
    const { keptIds, refused }: ReportAnswer = JSON.parse(await answer.text());
    expect(keptIds).toEqual([good.id]);
    expect(
      refused.map(({ index }) => index),
      'not the one of somebody else',
    ).toEqual([0, 2]);
    expect((await at.report(at.rosaLink, [])).status).toBe(400);
    expect(
      (await fetch(new URL(`${at.rosaLink}report`, at.clinic.service.address), { method: 'POST', body: '{' }))
        .status,
    ).toBeGreaterThanOrEqual(400);
  });

  it('as a warning sign stops everything until a clinician has answered', async () => {
    await at.ada.submit(`${at.rosaPath}/caregivers`, {
      name: 'Tom Lind',
      relation: 'son',
      phone: '555 0101',
    });
    const person = await (await at.ada.get(at.rosaPath)).text();
    const caregiverId = /\/caregivers\/([\w-]{36})\/end/.exec(person)?.[1] ?? '';
    const agreed = { kind: 'caregiver-told-of-warnings', caregiverId, onDate: '2026-11-20', note: '' };
    await at.ada.submit(`${at.rosaPath}/consents`, { ...agreed, isGiven: 'yes' });
    expect(await (await at.ada.get(`${at.rosaPath}/reminders`)).text()).toContain(
      'Should be notified of warning signs, but no contact is on file',
    );
    const { session } = await at.firstSession(at.rosaLink);
    const place = placeOf(session, idOf(at.rosaPath));
    const warning = {
      kind: 'warning',
      id: randomUUID(),
      listeningId: null,
      ...place,
      signs: ['new-back-pain'],
      positionMs: 30_000,
      atMs: Date.now(),
    };
    expect((await at.report(at.rosaLink, [warning, warning])).status).toBe(200);
    const held = await at.planOf(at.rosaLink);
    expect(held.people[0]?.isHeld).toBe(true);
    expect((await at.guest().get(`${at.rosaLink}${session.audio}`)).status).toBe(410);
    expect(await (await at.ada.get('/')).text()).toContain(
      'Reported a warning sign: <strong>A new, sharp pain in my back, or my usual one suddenly much worse</strong>',
    );
    expect(await (await at.ada.get('/')).text(), 'eight hours at most').toContain('Please answer by');
    const record = await (await at.ada.get(at.rosaPath)).text();
    expect(record.match(/Warning sign reported/g), 'once, though it was sent twice').toHaveLength(1);
    expect(record).toMatch(
      /Tom Lind has not been told\.<\/strong> They should know.*Call them at 555 0101\./,
    );
    const seenUpToMs = String(Date.now());
    const answered = (fields: Record<string, string>) =>
      at.ada.submit(`${at.rosaPath}/warnings`, { seenUpToMs, outcome: 'go-on', ...fields });
    expect((await answered({ note: '' })).status, 'in words').toBe(400);
    const note = 'Called: muscle ache from gardening, no fracture signs; goes on';
    expect((await answered({ note })).status).toBe(303);
    expect((await answered({ note })).status, 'twice').toBe(409);
    expect((await at.planOf(at.rosaLink)).people[0]?.isHeld).toBe(false);
    expect(await (await at.ada.get(`${at.rosaPath}/heard`)).text()).toContain(note);
    expect(await (await at.ada.get('/')).text()).not.toContain('Reported a warning sign');
  });

  it('as a sign ticked in the questions holds everything back too, and may keep the program paused', async () => {
    const { session } = await at.firstSession(at.rosaLink);
    const checkIn = (signs: string[] | null) => ({
      kind: 'check-in',
      id: randomUUID(),
      listeningId: randomUUID(),
      ...placeOf(session, idOf(at.rosaPath)),
      answers: { done: 'all', signs },
      atMs: Date.now(),
    });
    await at.report(at.rosaLink, [checkIn([]), checkIn(null)]);
    expect((await at.planOf(at.rosaLink)).people[0]?.isHeld, 'nothing was ticked').toBe(false);
    // Signs that a phone with a newer list may know count as an emergency.
    await at.report(at.rosaLink, [checkIn(['chest-pain']), checkIn(['not-on-this-list'])]);
    expect((await at.planOf(at.rosaLink)).people[0]?.isHeld).toBe(true);
    const page = await (await at.ada.get(at.rosaPath)).text();
    expect(page).toContain('Pain or pressure in my chest');
    expect(page).toContain('not-on-this-list');
    const seenUpToMs = /name="seenUpToMs" value="(\d+)"/.exec(page)?.[1] ?? '';
    const note = 'Sent to hospital';
    expect(
      (await at.ada.submit(`${at.rosaPath}/warnings`, { seenUpToMs, note, outcome: 'pause' })).status,
    ).toBe(303);
    const after = await at.planOf(at.rosaLink);
    expect([after.people[0]?.isHeld, after.people[0]?.sessions]).toEqual([false, []]);
    expect(await (await at.ada.get(at.programPath)).text()).toContain('Paused');
    await at.ada.submit(`${at.programPath}/state`, { state: 'active', reason: 'Cleared by the hospital' });
    expect((await at.planOf(at.rosaLink)).people[0]?.sessions.length).toBeGreaterThan(0);
  });

  it('with a day that is none, or is far away, is refused and does no harm', async () => {
    const { session } = await at.firstSession(at.rosaLink);
    const item = (slot: string) => ({
      kind: 'step',
      id: randomUUID(),
      listeningId: randomUUID(),
      ...placeOf(session, idOf(at.rosaPath)),
      slot,
      step: 'finished',
      positionMs: 1,
      atMs: Date.now(),
    });
    const slots = [
      '2026-99-99#1',
      '2026-02-30#1',
      '1999-01-01#1',
      '2999-01-01#1',
      '2026-11-25#0',
      '2026-11-25#100',
    ];
    const answer = await at.report(at.rosaLink, slots.map(item));
    const { keptIds, refused }: ReportAnswer = JSON.parse(await answer.text());
    expect(keptIds).toEqual([]);
    expect(refused.map(({ index }) => index)).toEqual([0, 1, 2, 3, 4, 5]);
    expect((await at.ada.get(`${at.rosaPath}/heard`)).status).toBe(200);
    expect((await at.guest().get(`${at.rosaLink}plan.json`)).status).toBe(200);
  });

  it('does not move a program on faster than days go by, whatever it claims', async () => {
    const { session } = await at.firstSession(at.rosaLink);
    const today = Date.now();
    const claims = Array.from({ length: 60 }, (_, index) => ({
      kind: 'step',
      id: randomUUID(),
      listeningId: randomUUID(),
      ...placeOf(session, idOf(at.rosaPath)),
      slot: `${new Date(today - Math.floor(index / 3) * dayMs).toISOString().slice(0, 10)}#${(index % 3) + 1}`,
      step: 'finished',
      positionMs: 1,
      atMs: today,
    }));
    expect((await at.report(at.rosaLink, claims)).status).toBe(200);
    const numbers = (await at.planOf(at.rosaLink)).people[0]?.sessions
      .filter(({ state }) => state === 'later' || state === 'due')
      .map(({ sessionNumber }) => sessionNumber);
    expect(Math.max(...(numbers ?? [])), 'three a day at most, signed today').toBeLessThanOrEqual(4 + 3);
  });

  it('in a flood is put off, but for a warning sign', async () => {
    const emilPath = await addPerson(at.ada, { name: 'Emil Tarn', zone: 'Europe/Vienna' });
    await screen(at.ada, emilPath, []);
    await signShortProgram(at.ada, emilPath);
    const { path } = await giveLink(at.ada, emilPath);
    const { session } = await at.firstSession(path);
    const place = placeOf(session, idOf(emilPath));
    const flood = () =>
      Array.from({ length: 100 }, () => ({
        kind: 'not-today',
        id: randomUUID(),
        ...place,
        reason: 'away',
        atMs: Date.now(),
      }));
    const statuses: number[] = [];
    for (let round = 0; round < 21; round += 1) statuses.push((await at.report(path, flood())).status);
    expect(statuses.slice(0, 20)).toEqual(Array.from({ length: 20 }, () => 200));
    expect(statuses[20]).toBe(429);
    const warning = { kind: 'warning', id: randomUUID(), listeningId: null, ...place, signs: ['faint'] };
    const told = await at.report(path, [{ ...warning, positionMs: null, atMs: Date.now() }]);
    expect([told.status, (await at.planOf(path)).people[0]?.isHeld]).toEqual([200, true]);
    expect((await at.ada.get(`${emilPath}/heard`)).status).toBe(200);
  });

  it('makes a week done when as many of its days are as are prescribed', async () => {
    const inesPath = await addPerson(at.ada, { name: 'Ines Moor', zone: 'Europe/Vienna' });
    await screen(at.ada, inesPath, []);
    await signShortProgram(at.ada, inesPath, { daysAWeek: '1' });
    const { path } = await giveLink(at.ada, inesPath);
    const { session, plan } = await at.firstSession(path);
    expect(plan.people[0]?.isWeekDone).toBe(false);
    const today = { ...placeOf(session, idOf(inesPath)), slot: `${plan.people[0]?.day}#1` };
    const step = { kind: 'step', id: randomUUID(), listeningId: randomUUID(), ...today, step: 'finished' };
    await at.report(path, [{ ...step, positionMs: 150_000, atMs: Date.now() }]);
    expect((await at.planOf(path)).people[0]?.isWeekDone).toBe(true);
  });

  it('about a program that was paused still lands on it', async () => {
    const { session } = await at.firstSession(at.rosaLink);
    await at.ada.submit(`${at.programPath}/state`, { state: 'paused', reason: 'On holiday' });
    expect((await at.planOf(at.rosaLink)).people[0]?.sessions).toEqual([]);
    expect((await at.guest().get(`${at.rosaLink}${session.audio}`)).status).toBe(410);
    const late = {
      kind: 'step',
      id: randomUUID(),
      listeningId: randomUUID(),
      ...placeOf(session, idOf(at.rosaPath)),
      step: 'started',
      positionMs: 0,
      atMs: Date.now() - 60_000,
    };
    expect(await (await at.report(at.rosaLink, [late])).json()).toEqual({ keptIds: [late.id], refused: [] });
    await at.ada.submit(`${at.programPath}/state`, { state: 'active', reason: 'Back home' });
  });
});
