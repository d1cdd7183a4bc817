import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { hasChromium, whyNoChromium } from '../support/browser.js';
import { Visit } from './visit.js';

it('has a browser to run in', (context) => {
  if (!hasChromium && process.env.CI === undefined) context.skip(whyNoChromium);
  expect(hasChromium, whyNoChromium).toBe(true);
});

/**
 * One made-up person from her first screening to the signed next step two weeks later and a warning sign after it, in
 * one go: on page, paper, phone and by mail, with the service stopped in between. Each part is tested by itself
 * elsewhere; here they have to agree with each other.
 */
describe.skipIf(!hasChromium)('a whole visit', { timeout: 240_000 }, () => {
  let visit: Visit;
  beforeAll(async () => {
    visit = await Visit.open();
  }, 240_000);
  afterAll(() => visit.close());

  it('is screened, with a stop of the service half-way, and nothing answered is lost', async () => {
    const { clinic, ada } = visit;
    await visit.begin({ name: 'Gerda Holm', birthYear: '1943' });
    const half = (await ada.get(`${visit.path}/screening`)).headers.get('location') ?? '';
    await visit.answerScreens(2);
    await clinic.restart();
    await visit.signIn();
    const goesOn = (await ada.get(`${visit.path}/screening`)).headers.get('location') ?? '';
    expect(goesOn, 'after the screens that were answered').not.toBe(half);
    await visit.answerScreens();
    const page = await visit.page(visit.path);
    expect(page).toMatch(/T8 in July/);
  });

  it('is prescribed only once each precaution is settled, and a second tab overwrites nothing', async () => {
    const opened = await visit.draftOfStarter();
    const unsettled = await visit.sign(opened);
    expect(unsettled.status).toBe(400);
    expect(await visit.textOf(unsettled)).toMatch(/head press/i);
    const settled = visit.settle(opened);
    const signed = await visit.sign(settled);
    expect(signed.status, await visit.textOf(signed.clone())).toBe(303);
    visit.program = signed.headers.get('location') ?? '';
    const edit = await visit.change();
    expect((await visit.sign({ ...edit, 'program.title': 'Quiet mornings' })).status).toBe(303);
    const late = await visit.sign({ ...edit, 'program.title': 'From the second tab' });
    expect(late.status, 'a tab that was opened before').toBe(409);
    expect(await visit.textOf(late)).toContain('signed version 2 while you were working');
    expect((await visit.change())['program.title'], 'nothing typed is lost').toBe('From the second tab');
    expect(await visit.page(visit.program)).toContain('Quiet mornings');
    await visit.throwAway(edit);
  });

  it('says the same on paper as aloud, with what was cleared called cleared', async () => {
    await visit.giveLink();
    const paper = await visit.handout();
    const spoken = await visit.spoken();
    expect(paper).toContain('Quiet mornings');
    expect(paper, 'Dr. Fenn has cleared it').not.toMatch(/not until (it is )?cleared/i);
    const doses = await visit.signedDoses();
    expect(doses.length).toBeGreaterThan(3);
    for (const { title, numbers } of doses) {
      expect(spoken, title).toContain(title);
      const part = paper.slice(paper.indexOf(title));
      for (const number of numbers) expect(part, title).toMatch(new RegExp(`\\b${number}\\b`));
    }
  });

  it('is reminded of by mail at nine by her own clock, once, and only after she agreed', async () => {
    await visit.agreeToMail();
    await visit.goTo(1, '08:50');
    expect(visit.mailTo('gerda@example.org')).toHaveLength(0);
    await visit.goTo(1, '09:00');
    await visit.untilMail('gerda@example.org');
    const [mail] = visit.mailTo('gerda@example.org');
    expect(mail?.parsed.text).toContain('/l/');
    expect(mail?.parsed.text, 'nothing about her health').not.toMatch(/fracture|osteoporosis|T8/i);
  });

  it('is listened to on a phone, across a stop of the service, and told of with a note', async () => {
    await visit.goTo(1, '09:05');
    await visit.listen('I fel out of bed yesterday');
    await expect.poll(() => visit.page(visit.path), { timeout: 20_000 }).toMatch(/1 unread note/);
    expect(await visit.page('/')).toMatch(/may name a warning sign/);
  });

  it('holds every step up until the note has been read with what was found', async () => {
    await visit.tellDays(2, 7);
    await visit.goTo(7, '15:00');
    const advice = await visit.page(`${visit.path}/advice`);
    expect(advice).not.toMatch(/\bStep up\b\. Everything/);
    expect(advice).toMatch(/Unread notes 1/);
    const more = await visit.raise();
    expect((await visit.sign(more)).status, 'a step by hand is held as well').toBe(400);
    await visit.throwAway(more);
    await visit.readNotes('Seen today: a bruise, walks as before');
    expect(await visit.page('/')).not.toMatch(/may name a warning sign/);
  });

  it('takes the next step after two weeks only with a signature, on page, paper and in the ear', async () => {
    await visit.tellDays(8, 14);
    await visit.goTo(14, '15:00');
    expect(await visit.page(`${visit.path}/advice`)).toMatch(/Step up/);
    const before = await visit.handout();
    const versionBefore = await visit.versionPlanned();
    await visit.clinic.restart();
    await visit.signIn();
    expect(await visit.versionPlanned(), 'nothing moves by itself').toBe(versionBefore);
    await visit.signAdvice();
    expect(await visit.versionPlanned()).toBe(versionBefore + 1);
    const after = await visit.handout();
    expect(after).not.toBe(before);
    expect(await visit.page(visit.program)).toMatch(/\(was \d+/);
  });

  it('stops for a warning sign, says whom to call, tells the clinic, and goes on only after it was answered', async () => {
    await visit.goTo(15, '09:05');
    const mailsBefore = visit.mailTo(visit.adaMail).length;
    await visit.tellWarning('chest-pain');
    expect((await visit.plan()).people[0]?.isHeld).toBe(true);
    expect(await visit.page('/')).toMatch(/Gerda Holm.*chest/is);
    await visit.untilMail(visit.adaMail, mailsBefore + 1);
    expect(visit.mailTo(visit.adaMail).at(-1)?.parsed.text, 'a letter names nobody').not.toMatch(
      /Gerda|Holm/,
    );
    const held = await visit.raise();
    expect((await visit.sign(held)).status, 'no step while it is open').toBe(400);
    await visit.throwAway(held);
    await visit.answerWarning('Seen by her doctor, the heart is well');
    expect((await visit.plan()).people[0]?.isHeld).toBe(false);
  });

  it('leaves a record in which all of it can be read, by whom and when', async () => {
    const record = await visit.page(`${visit.path}/record`);
    expect(record).toMatch(/Signed versions of programs ?3\b/);
    const note = await visit.page(`${visit.path}/record/csv/check-ins`);
    expect(note).toMatch(/I fel out of bed.*Seen today: a bruise/);
    const trail = await visit.page('/records');
    expect(trail).toMatch(/Ada Brandt/);
    expect(visit.clinic.logged.join('\n'), 'logs name nobody').not.toMatch(/Gerda|Holm|gerda@/);
    expect(visit.complaints).toEqual([]);
  });
});
