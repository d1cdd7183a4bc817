import { afterAll, describe, expect, it } from 'vitest';
import { addDays } from '../../../src/schedule/wallClock.js';
import { screen, signShortProgram, type Visitor } from '../../support/clinic.js';
import { openRemindersClinic, read } from '../../support/remindersClinic.js';

const { clinic, ada, ben, eve, today, html, newPerson, dayLater, agree, pageOf } =
  await openRemindersClinic();
afterAll(() => clinic.remove());

describe('breaks', () => {
  const holiday = () => ({
    kind: 'holiday',
    fromDay: addDays(today, 2),
    untilDay: addDays(today, 4),
    note: 'At the lake',
  });

  it('take their days out of what will be sent, end early and are taken back', async () => {
    const path = await newPerson({ email: 'rosa@example.org' });
    await signShortProgram(ada, path);
    await agree(path, 'reminders');
    const sent = async () => ((await pageOf(path)).match(/It is time for the session/g) ?? []).length;
    expect(await sent()).toBe(13);
    expect((await ada.submit(`${path}/breaks`, holiday())).headers.get('location')).toBe(
      `${path}/reminders#breaks`,
    );
    expect(await sent()).toBe(10);
    expect(await pageOf(path)).toContain('At the lake');
    const place = /\/breaks\/[\w-]{36}/.exec(await html(`${path}/reminders`))?.[0] ?? '';
    const end = (untilDay: string, who = ada) => who.submit(`${path}${place}/end`, { untilDay });
    expect((await end(addDays(today, 1))).status, 'before it begins').toBe(400);
    expect((await end('soon')).status).toBe(400);
    expect((await end(addDays(today, 2), ben)).status).toBe(403);
    expect((await end(addDays(today, 2), eve)).status).toBe(404);
    expect((await end(addDays(today, 2))).status).toBe(303);
    expect(await sent()).toBe(12);
    // With another last day it is another one; the first stays on record.
    const changed = /\/breaks\/[\w-]{36}/.exec(await html(`${path}/reminders`))?.[0] ?? '';
    const back = (who: Visitor, of = path) => who.submit(`${of}${changed}/take-back`, {});
    expect((await back(ben)).status).toBe(403);
    expect((await back(ada, await newPerson())).status, 'of somebody else').toBe(404);
    expect((await back(ada)).status).toBe(303);
    expect(await sent()).toBe(13);
    expect((await back(ada)).status, 'a second time').toBe(404);
    const trail = await read(ada.get(`/records?patient=${path.split('/')[2]}`));
    for (const line of ['Break added', 'Last day of a break changed', 'Break removed'])
      expect(trail).toContain(line);
  });

  it('that cannot be are refused in plain words, and what was typed stays', async () => {
    const path = await newPerson();
    const refusals: [Record<string, string>, string][] = [
      [{ untilDay: addDays(today, 1) }, 'Last day</strong>: this is before the first day'],
      [{ untilDay: '' }, 'Last day</strong>: enter a last day'],
      [{ untilDay: addDays(today, 400) }, 'Last day</strong>: a break can last at most a year'],
      [{ fromDay: '2001-01-01' }, 'First day</strong>: this is more than a year away'],
      [{ fromDay: '' }, 'First day</strong>: a date such as'],
      [{ kind: 'hospital' }, 'Last day</strong>: leave this blank for a hospital stay'],
      [{ kind: 'sabbatical' }, 'Reason</strong>: choose one'],
    ];
    for (const [change, said] of refusals) {
      const refused = await ada.submit(`${path}/breaks`, { ...holiday(), ...change });
      const page = await refused.text();
      expect(refused.status, said).toBe(400);
      expect(page).toContain(said);
      expect(page).toContain('name="note" value="At the lake"');
    }
    expect((await ben.submit(`${path}/breaks`, holiday())).status).toBe(403);
    expect((await eve.submit(`${path}/breaks`, holiday())).status).toBe(404);
    expect(await pageOf(path)).not.toContain('At the lake');
  });

  it('in hospital pause everything, and only a clinician who has screened again resumes', async () => {
    const path = await newPerson({ email: 'rosa@example.org' });
    const program = await signShortProgram(ada, path);
    await agree(path, 'reminders');
    const resume = () => ada.submit(`${program}/state`, { state: 'active', reason: 'Back home' });
    const stay = { kind: 'hospital', fromDay: addDays(today, -1), untilDay: '' };
    expect((await ada.submit(`${path}/breaks`, stay)).status).toBe(303);
    for (const page of [await read(ada.get(path)), await pageOf(path)])
      expect(page).toContain('Sessions are paused for a break. Hospital stay, since');
    expect(await read(ada.get(program))).toContain('Hospital stay');
    const place = /\/breaks\/[\w-]{36}/.exec(await html(`${path}/reminders`))?.[0] ?? '';
    const tooSoon = await ada.submit(`${path}${place}/end`, { untilDay: addDays(today, 1) });
    expect(tooSoon.status, 'nobody knows when it will be over').toBe(400);
    expect((await ada.submit(`${path}${place}/end`, { untilDay: today })).status).toBe(303);
    const asks = 'Re-screen before you resume the program. Surgery';
    for (const page of [await read(ada.get(path)), await pageOf(path)]) expect(page).toContain(asks);
    expect(await html(`${path}/reminders`)).toContain(`href="/patients/${path.split('/')[2]}/screening"`);
    expect(await pageOf(path), 'paused: nothing is to be sent').not.toContain('It is time for the session');
    const refused = await resume();
    expect(refused.status).toBe(400);
    expect(await read(Promise.resolve(refused))).toContain(
      'there was a hospital stay since the last screening',
    );
    await screen(ada, path, []);
    for (const page of [await read(ada.get(path)), await pageOf(path)]) expect(page).not.toContain(asks);
    expect((await resume()).status).toBe(303);
    await dayLater(1, async () => {
      expect((await pageOf(path)).match(/It is time for the session/g)).toHaveLength(13);
    });
  });

  it('in hospital that were taken back once they had begun do not let anything go on by themselves', async () => {
    const path = await newPerson();
    const program = await signShortProgram(ada, path);
    await ada.submit(`${path}/breaks`, { kind: 'hospital', fromDay: addDays(today, 1), untilDay: '' });
    const place = /\/breaks\/[\w-]{36}/.exec(await html(`${path}/reminders`))?.[0] ?? '';
    const isPaused = async () => (await html(program)).includes('value="active"');
    expect(await isPaused(), 'it is yet to come').toBe(false);
    await dayLater(2, async () => {
      await ada.submit(`${path}${place}/take-back`, {});
      expect(await isPaused()).toBe(true);
    });
  });
});
