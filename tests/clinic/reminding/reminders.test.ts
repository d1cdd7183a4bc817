import { afterAll, describe, expect, it } from 'vitest';
import { giveLink, person, signShortProgram } from '../../support/clinic.js';
import { openRemindersClinic, read } from '../../support/remindersClinic.js';

const { clinic, ada, ben, eve, html, newPerson, newCaregiver, agree, pageOf } = await openRemindersClinic();
afterAll(() => clinic.remove());

describe('who is reached', () => {
  it('says what is missing, and what will be sent once nothing is', async () => {
    const path = await newPerson();
    const before = await pageOf(path);
    expect(before).toContain('None: no active program.');
    const numberless = 'No reminders are sent until the clinic’s phone number is entered.';
    for (const place of [path, `${path}/reminders`, '/']) {
      const [owners, others] = [await read(ada.get(place)), await read(ben.get(place))];
      expect(owners, place).toMatch(new RegExp(`${numberless}.* Enter the phone number`));
      expect(others, place).toMatch(new RegExp(`${numberless}.* Ask a clinic owner`));
    }
    await ada.submit('/colleagues/contact', { phone: '0100 555 00', emergencyNumber: '112' });
    expect(await pageOf(path)).not.toContain(numberless);
    expect(before).toContain('Rosa Lind Has not agreed to reminders.');
    expect(before).toContain('No contact.');
    expect(before).toContain('No listening link.');
    await signShortProgram(ada, path);
    expect(await pageOf(path)).toContain('No one who agreed to reminders can be reached');
    await agree(path, 'reminders');
    await giveLink(ada, path);
    const revision = /name="revision" value="(\d+)"/.exec(await html(`${path}/edit`))?.[1] ?? '';
    await ada.submit(`${path}/edit`, { ...person, revision, email: 'Rosa@example.org' });
    const after = await pageOf(path);
    for (const missing of ['Has not agreed', 'No contact', 'No listening link', 'no mail server'])
      expect(after, missing).not.toContain(missing);
    expect(after).toMatch(/email: rosa@example.org \((from the record|since [^)]*)\)/);
    // Noon has passed today's session; thirteen days are left of fourteen.
    expect(after.match(/9:00 AM It is time for the session: Rosa Lind \(email\)/g)).toHaveLength(13);
  });

  it('lists caregivers as far as was agreed on about them', async () => {
    const path = await newPerson({ email: 'rosa@example.org' });
    await signShortProgram(ada, path);
    const caregiverId = await newCaregiver(path, { email: 'tom@example.org' });
    expect(await pageOf(path)).toContain(
      'Tom Lind Rosa Lind has not agreed that this caregiver gets reminders or is notified when a session has not started.',
    );
    await agree(path, 'caregiver-reminded', caregiverId);
    const blind = await pageOf(path);
    expect(blind).toContain('Not notified when a session has not started');
    expect(blind.match(/9:00 AM It is time for the session: Tom Lind \(email\)/g)).toHaveLength(13);
    expect(blind).not.toContain('10:30 AM');
    await agree(path, 'caregiver-told-not-begun', caregiverId);
    const told = /10:30 AM If the 9:00 AM session has not started: Tom Lind \(email\)/g;
    expect((await pageOf(path)).match(told)).toHaveLength(13);
    await ada.submit(`${path}/caregivers/${caregiverId}/end`, {});
    expect(await pageOf(path)).not.toContain('Tom Lind');
  });

  it('takes numbers and speakers, ends them and sends there again', async () => {
    const path = await newPerson();
    const add = (to: string, more: Record<string, string> = {}, who = ada) =>
      who.submit(`${path}/contacts`, { to, ...more });
    const caregiverId = await newCaregiver(path);
    expect((await add('+43 (1) 234-5678')).headers.get('location')).toBe(`${path}/reminders#reached`);
    expect((await add('living-room', { caregiverId })).status).toBe(303);
    const page = await pageOf(path);
    expect(page).toMatch(/text message or speaker: \+4312345678 \(since/);
    expect(page).toMatch(/text message or speaker: living-room \(since/);
    for (const wrong of ['0664 1234567', '+0 123', '12345678', 'living room', '']) {
      const refused = await add(wrong);
      expect(refused.status, wrong).toBe(400);
      const answer = await refused.text();
      expect(answer).toContain('Number or speaker</strong>: a phone number with plus');
      if (wrong !== '') expect(answer, 'it is not lost').toContain(`name="to" value="${wrong}"`);
    }
    expect((await add('+4312345678', { caregiverId: crypto.randomUUID() })).status).toBe(404);
    expect((await add('+4312345678', {}, eve)).status).toBe(404);
    expect((await add('+4312345678', {}, ben)).status).toBe(403);

    const ends = [...(await html(`${path}/reminders`)).matchAll(/\/contacts\/[\w-]{36}\/end/g)];
    expect(ends).toHaveLength(2);
    const own = ends[0]?.[0] ?? '';
    for (const [who, status] of [
      [eve, 404],
      [ben, 403],
      [ada, 303],
    ] as const)
      expect((await who.submit(`${path}${own}`, {})).status).toBe(status);
    const ended = await pageOf(path);
    expect(ended).toMatch(/\+4312345678. Stopped on [^:]+: stopped here. Send here again/);
    const again = own.replace('/end', '/again');
    expect((await eve.submit(`${path}${again}`, {})).status).toBe(404);
    expect((await ada.submit(`${path}${again}`, {})).status).toBe(303);
    expect(await pageOf(path)).toMatch(/\+4312345678 \(since [^)]*\) Stop sending here/);
    const other = await newPerson();
    expect((await ada.submit(`${other}${own}`, {})).status, 'of somebody else').toBe(404);
  });
});

describe('what is agreed on', () => {
  const agreed = {
    quietFrom: '20:30',
    quietUntil: '08:00',
    graceMinutes: '30',
    caregiverAfterMinutes: '',
    quietAfterDays: '5',
  };

  it('is kept, and changes what will be sent', async () => {
    const path = await newPerson({ email: 'rosa@example.org' });
    await signShortProgram(ada, path, { 'timesOfDay.0': '07:45' });
    await agree(path, 'reminders');
    expect(await pageOf(path)).toContain('Default settings; none have been changed yet.');
    expect(await pageOf(path)).toContain('7:45 AM It is time for the session: Rosa Lind');
    const kept = await ada.submit(`${path}/reminders`, agreed);
    expect(kept.headers.get('location')).toBe(`${path}/reminders#agreed`);
    const page = await pageOf(path);
    expect(page).not.toContain('Default settings');
    expect(page).toContain(
      '8:00 AM It is time for the session, instead of 7:45 AM, because of the quiet hours',
    );
    await ada.submit(`${path}/reminders`, { ...agreed, quietUntil: '08:30' });
    const silent = await pageOf(path);
    expect(silent).toContain('Not sent because of quiet hours: 13.');
    expect(silent).toContain('7:45 AM Not sent: the quiet hours last longer than a reminder may be late.');
    const form = await html(`${path}/reminders`);
    expect(form).toContain('name="caregiverAfterMinutes" value=""');
    expect(form).toContain('name="quietAfterDays" value="5"');
    expect(await read(ada.get(`/records?patient=${path.split('/')[2]}`))).toContain(
      'Reminder settings changed',
    );
  });

  it('has limits, and what was typed is shown again', async () => {
    const path = await newPerson();
    const wrong: [string, string, string][] = [
      ['graceMinutes', '4', 'a whole number from 5 to 240'],
      ['graceMinutes', '241', 'a whole number from 5 to 240'],
      ['graceMinutes', '', 'a whole number from 5 to 240'],
      ['graceMinutes', '7.5', 'a whole number from 5 to 240'],
      ['caregiverAfterMinutes', '9', 'a whole number from 10 to 240'],
      ['caregiverAfterMinutes', 'soon', 'a whole number from 10 to 240'],
      ['quietAfterDays', '0', 'a whole number from 1 to 14'],
      ['quietAfterDays', '15', 'a whole number from 1 to 14'],
      ['quietFrom', '25:00', 'a time such as 21:00'],
      ['quietUntil', '', 'a time such as 21:00'],
      ['quietFrom', '07:00', 'quiet hours can last at most 13 hours; are the two times reversed?'],
    ];
    for (const [name, value, said] of wrong) {
      const quietUntil = name === 'quietFrom' ? '21:00' : agreed.quietUntil;
      const refused = await ada.submit(`${path}/reminders`, { ...agreed, quietUntil, [name]: value });
      const page = await refused.text();
      expect(refused.status, `${name} ${value}`).toBe(400);
      expect(page, `${name} ${value}`).toContain(said);
      expect(page, 'it is not lost').toContain(`name="${name}" value="${value}"`);
      const other = name === 'quietAfterDays' ? 'graceMinutes' : 'quietAfterDays';
      expect(page, 'nor is what was right').toContain(`name="${other}" value="${agreed[other]}"`);
    }
    expect(await pageOf(path), 'nothing was kept').toContain('Default settings');
    const edges = { ...agreed, graceMinutes: '240', caregiverAfterMinutes: '10', quietAfterDays: '14' };
    expect((await ada.submit(`${path}/reminders`, edges)).status).toBe(303);
    const none = { ...agreed, quietFrom: '12:00', quietUntil: '12:00' };
    expect((await ada.submit(`${path}/reminders`, none)).status).toBe(303);
    expect(await read(ben.get(`${path}/reminders`))).toContain('Quiet hours None');
  });

  it('is changed by nobody who may only read, or is of another clinic', async () => {
    const path = await newPerson();
    expect((await ben.submit(`${path}/reminders`, agreed)).status).toBe(403);
    expect((await eve.submit(`${path}/reminders`, agreed)).status).toBe(404);
    expect((await eve.get(`${path}/reminders`)).status).toBe(404);
    const page = await (await ben.get(`${path}/reminders`)).text();
    expect(page).not.toContain(`action="${path}`.replaceAll('/', '&#x2F;'));
    expect(page).not.toContain('<form method="post" action="/patients');
    expect(page).toContain('Reminder settings');
  });
});
