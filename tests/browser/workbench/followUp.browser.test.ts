import { randomUUID } from 'node:crypto';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Plan } from '../../../src/listening/plan.js';
import { addDays, isoDayIn, wallClockInstant } from '../../../src/schedule/wallClock.js';
import { hasChromium, whyNoChromium } from '../../support/browser.js';
import {
  addPerson,
  giveLink,
  openClinicWithPerson,
  owner,
  signShortProgram,
  type TestClinic,
  type Visitor,
} from '../../support/clinic.js';
import { Desk } from '../../support/desk.js';
import { idOf } from '../../support/listener.js';
import { Phone } from '../listen/phone.js';

const { zone } = owner;
/** The day of signing: it is signed in the evening, so that no session of that day is wanted, whenever the tests run. */
const first = addDays(isoDayIn(Date.now(), zone), 1);
const today = addDays(first, 11);
const mornings = [10, 9, 8, 7, 6, 5, 4, 3, 2, 1];

it('has a browser to run in', (context) => {
  if (!hasChromium && process.env.CI === undefined) context.skip(whyNoChromium);
  expect(hasChromium, whyNoChromium).toBe(true);
});

describe.skipIf(!hasChromium)('the follow-up in a browser', { timeout: 240_000 }, () => {
  let clinic: TestClinic;
  let ada: Visitor;
  let desk: Desk;
  let page: Page;
  let person: string;
  let program: string;
  let link: string;
  const nowMs = () => Date.now() + clinic.clock.aheadMs;
  const at = (path: string) => desk.at(path);
  const look = (name: string) => desk.look(name);

  beforeAll(async () => {
    ({ clinic, ada, patientPath: person } = await openClinicWithPerson());
    clinic.clock.aheadMs = wallClockInstant(first, '18:00', zone) - Date.now();
    await ada.post('/sign-in', owner);
    program = await signShortProgram(ada, person);
    link = (await giveLink(ada, person)).path;
    clinic.clock.aheadMs = wallClockInstant(today, '09:05', zone) - Date.now();
    desk = await Desk.open(clinic);
    page = desk.page;
    await desk.signIn();
    await ada.post('/sign-in', owner);
  }, 180_000);
  afterAll(() => desk.close());

  /** Tells that sessions were heard to their end on days counted back from today; what was answered, if anything. */
  async function tell(daysBack: readonly number[], answers?: object): Promise<void> {
    const items = daysBack.flatMap((back) => {
      const day = addDays(today, -back);
      const place = { patientId: idOf(person), prescriptionId: idOf(program), versionNumber: 1 };
      const about = { ...place, sessionNumber: 1, slot: `${day}#1`, listeningId: randomUUID() };
      const startedAtMs = wallClockInstant(day, '09:00', zone);
      const steps = [
        { step: 'started', positionMs: 0, atMs: startedAtMs },
        { step: 'finished', positionMs: 200_000, atMs: startedAtMs + 200_000 },
      ].map((step) => ({ kind: 'step', id: randomUUID(), ...about, ...step }));
      if (answers === undefined) return steps;
      return [
        ...steps,
        { kind: 'check-in', id: randomUUID(), ...about, answers, atMs: startedAtMs + 300_000 },
      ];
    });
    const answer = await fetch(at(`${link}report`), {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ sentAtMs: nowMs(), items }),
    });
    expect(await answer.json()).toMatchObject({ refused: [] });
  }

  const planNow = async (): Promise<Plan> => JSON.parse(await (await fetch(at(`${link}plan.json`))).text());

  it('says on every page what will appear while there is nothing', async () => {
    const empty = await addPerson(ada, { name: 'Leo Hask', zone });
    for (const [part, says] of [
      ['follow-up', 'Once one is signed'],
      ['advice', 'Advice appears here'],
      ['measures', 'No measures yet'],
      ['papers', 'None yet'],
      ['record', 'Signed versions of programs0'],
    ] as const) {
      await page.goto(at(`${empty}/${part}`));
      expect(await page.locator('main').textContent(), part).toContain(says);
      await look(`${part}-empty`);
    }
  });

  it('leads from the answers on a phone to the next version, signed, and to its sound', async () => {
    await tell(mornings, { done: 'all', painBefore: 3, painAfter: 2, effort: 3, signs: [] });
    // What was heard came from one device, and the answers come from another.
    const phoneContext = await desk.newContext({ viewport: { width: 390, height: 844 }, hasTouch: true });
    const phone = new Phone(await phoneContext.newPage(), at(link));
    await phone.page.clock.install({ time: nowMs() });
    await phone.open();
    await phone.press('Tell my clinic how it was');
    const choose = async (name: string) => {
      await phone.page.getByRole('radio', { name, exact: true }).check();
      await phone.press('Next');
    };
    await choose('All of it');
    await choose('3');
    await choose('2');
    await choose('4');
    await phone.page.getByRole('checkbox', { name: 'None of these' }).check();
    await phone.press('Next');
    await phone.page.getByRole('textbox').fill('The feet feel warm afterwards');
    const sent = phone.page.waitForResponse((response) => response.url().endsWith('/report'));
    await phone.press('Next');
    expect((await sent).status()).toBe(200);
    await phoneContext.close();
    await tell([0]);

    // What was written holds every step up until somebody has read it.
    await page.goto(at(`${person}/advice`));
    expect(await page.getByRole('button', { name: 'Sign this step' }).count()).toBe(0);
    await page.goto(at(person));
    await page.getByText('The feet feel warm afterwards').first().waitFor();
    await page
      .getByRole('button', { name: /^Mark as read/ })
      .first()
      .click();
    await page.goto(at(person));
    await page.getByRole('link', { name: 'Progress', exact: true }).click();
    const glance = page.getByRole('region', { name: 'Summary' });
    await glance.waitFor();
    expect(await glance.textContent()).toContain('11 of 11');
    expect(await glance.textContent()).toContain('none open');
    expect(await page.getByRole('img').count(), 'each picture has a name').toBeGreaterThanOrEqual(3);
    await look('follow-up');

    await page.getByRole('link', { name: 'Advice', exact: true }).click();
    await page.getByText('All criteria met.').first().waitFor();
    await look('advice');
    expect((await planNow()).people[0]?.sessions.at(-1)?.versionNumber).toBe(1);
    await page.getByRole('button', { name: 'Sign this step' }).click();
    await page.getByText('version 2').first().waitFor();
    const next = (await planNow()).people[0]?.sessions.at(-1);
    expect(next?.versionNumber).toBe(2);
    const words = await (await fetch(at(`${link}${next?.words}`))).text();
    // The program's five; ten is what the ladder of ankle pumps begins with.
    expect(words).toMatch(/\bten\b/i);
    const sound = await fetch(at(`${link}${next?.audio}`));
    expect([sound.status, sound.headers.get('content-type')]).toEqual([200, 'audio/mpeg']);
    expect((await sound.arrayBuffer()).byteLength).toBeGreaterThan(100_000);
    await page.goto(at(program));
    expect(await page.locator('main').textContent()).toContain('repetitions 10 (was 5)');
  });

  it('takes measures as they are typed, asks about what is rare, and draws what was kept', async () => {
    await page.goto(at(`${person}/measures`));
    const enter = async (id: string, value: string, day: string) => {
      const one = page.locator('#enter form');
      await one.locator('select[name=measureId]').selectOption(id);
      await one.locator('input[name=value]').fill(value);
      await one.locator('input[name=takenOn]').fill(day);
      await one.getByRole('button', { name: 'Save', exact: true }).click();
    };
    await enter('height', `5'4"`, addDays(today, -200));
    await enter('height', '1,59 m', today);
    await page.getByText('Is this right?').waitFor();
    await look('measures-asked');
    await page.getByRole('button', { name: 'Save 159 cm' }).click();
    await page.getByRole('img').first().waitFor();
    expect(await page.locator('main').textContent()).toContain('Consider');
    await look('measures');
  });

  it('is as good on its other pages', async () => {
    for (const [name, path] of [
      ['papers', `${person}/papers`],
      ['record', `${person}/record`],
      ['record-erase', `${person}/record/erase`],
      ['clinic-view', '/clinic-view'],
      ['erasures', '/erasures'],
      ['person-with-follow-up', person],
    ] as const) {
      expect((await page.goto(at(path)))?.status(), path).toBe(200);
      await look(name);
    }
    expect(desk.complaints).toEqual([]);
  });
});
