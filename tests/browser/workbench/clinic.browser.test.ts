import { randomUUID } from 'node:crypto';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Plan } from '../../../src/listening/plan.js';
import { axeFaults, wcagTags } from '../../support/axe.js';
import { hasChromium, whyNoChromium } from '../../support/browser.js';
import { openClinicWithPerson, signShortProgram } from '../../support/clinic.js';
import { Desk } from '../../support/desk.js';

it('has a browser to run in', (context) => {
  if (!hasChromium && process.env.CI === undefined) context.skip(whyNoChromium);
  expect(hasChromium, whyNoChromium).toBe(true);
});

describe.skipIf(!hasChromium)('the clinic in a browser', { timeout: 400_000 }, () => {
  let desk: Desk;
  let page: Page;

  beforeAll(async () => {
    const { clinic, ada, patientPath } = await openClinicWithPerson();
    await signShortProgram(ada, patientPath);
    desk = await Desk.open(clinic);
    page = desk.page;
    await desk.signIn();
  }, 120_000);
  afterAll(() => desk.close());

  const look = (name: string) => desk.look(name);

  it('is looked at by something that finds faults', async () => {
    const planted =
      '<html lang="en"><title>Faults</title><p style="color:#999">Pale</p><button></button></html>';
    const other = await desk.newContext({});
    const faulty = await other.newPage();
    await faulty.setContent(planted);
    const found = await axeFaults(faulty, { runOnly: { type: 'tag', values: wcagTags } });
    expect(found).toEqual(['button-name: button', 'color-contrast: p']);
    await other.close();
  });

  it('is as good where something is wrong, open or asked for', async () => {
    await page.goto(desk.at('/'));
    await page.getByRole('link', { name: 'New patient' }).first().click();
    await page.getByLabel('Name As in').fill('Olga Bend');
    await page.getByRole('button', { name: 'Save' }).click();
    await page.getByRole('button', { name: 'Save and continue' }).click();
    await look('screening-refused');
    await page
      .getByRole('group', { name: 'Newly clumsy hands, or dropping things' })
      .getByLabel('Yes')
      .check();
    await page.getByRole('button', { name: 'Save and continue' }).click();
    await look('screening-stops');
    await page.getByRole('link', { name: 'Change: Right now' }).click();
    await desk.interview(['Spinal fracture in the last six months', 'Earlier spinal fracture']);
    await page.getByRole('button', { name: 'Save screening' }).click();
    await page.getByText('Add a caregiver').click();
    await page.locator('#care').getByLabel('Name').fill('Tom Bend');
    await page.getByRole('button', { name: 'Add caregiver', exact: true }).click();
    await page.getByText('Record consent').first().click();
    await look('person-with-care');
    const person = page.url().replace(/#.*/, '');
    await page.goto(`${person}/edit`);
    await look('person-edit');
    await page.goto(person);
    await page.getByRole('link', { name: 'Prescribe a program' }).click();
    await page.getByRole('button', { name: 'Use starter' }).click();
    await desk.redrawn(() => page.getByRole('button', { name: 'Add Knee rolls' }).click());
    await page.getByRole('button', { name: 'Sign this version' }).click();
    await look('prescribe-refused');
    await page.goto(desk.at('/'));
    await look('people-waiting');
    await page.goto(desk.at('/account'));
    await page.getByRole('button', { name: 'Set up two-step verification' }).click();
    await look('account-second-step');
    await page.goto(desk.at('/colleagues'));
    await page.getByRole('button', { name: 'Make link' }).click();
    await look('colleagues-link');
    await page.goto((await page.locator('strong.long').textContent()) ?? '');
    await look('join');
  });

  it('gives a link, and shows what came of it, a warning sign before all else', async () => {
    await page.goto(desk.at('/'));
    await page.getByRole('link', { name: 'Rosa Lind', exact: true }).click();
    const person = page.url();
    const listening = page.locator('#listening');
    await listening.getByRole('button', { name: 'Give link' }).first().click();
    await look('link');
    const link = (await page.locator('a.long').getAttribute('href')) ?? '';
    const plan: Plan = JSON.parse(await (await fetch(`${link}plan.json`)).text());
    const [session] = plan.people[0]?.sessions ?? [];
    const { prescriptionId, versionNumber, sessionNumber, slot } = session ?? expect.unreachable('a plan');
    const place = { patientId: plan.people[0]?.id, prescriptionId, versionNumber, sessionNumber, slot };
    const [listeningId, atMs] = [randomUUID(), Date.now()];
    const steps = ['started', 'paused', 'resumed', 'finished'].map((step, index) => {
      const positionMs = index * 200_000;
      return { kind: 'step', id: randomUUID(), listeningId, ...place, step, positionMs, atMs: atMs + index };
    });
    const signs = ['new-back-pain'];
    const answers = { done: 'most', painBefore: 3, painAfter: 6, effort: null, signs, note: 'It caught me' };
    const items = [
      ...steps,
      { kind: 'check-in', id: randomUUID(), listeningId, ...place, answers, atMs },
      { kind: 'warning', id: randomUUID(), listeningId, ...place, signs, positionMs: 1_000, atMs },
      { kind: 'not-today', id: randomUUID(), ...place, reason: 'unwell', atMs },
    ];
    const told = await fetch(`${link}report`, {
      method: 'POST',
      headers: { 'content-type': 'application/json', 'sec-fetch-site': 'same-origin' },
      body: JSON.stringify({ sentAtMs: atMs + 10, items }),
    });
    expect(told.status).toBe(200);
    await page.goto(desk.at('/'));
    await page.getByRole('link', { name: 'Answer the warning sign: Rosa Lind' }).click();
    await look('person-warned');
    await page.getByLabel('What you found and did').fill('Telephoned; muscle ache, settles with rest');
    await page.getByRole('button', { name: 'Answer and let sessions continue' }).click();
    await page.goto(person);
    expect(await page.getByRole('alert').count(), 'it is answered').toBe(0);
    await page.getByRole('link', { name: 'Sessions', exact: true }).click();
    await look('heard');
    const heard = (await page.textContent('main')) ?? '';
    expect(heard).toContain('Telephoned; muscle ache, settles with rest');
    expect(heard).toContain('pain before 3, after 6; effort skipped');
  });

  it('is as good where reminders are agreed on, breaks are written down, and one of them cannot be', async () => {
    await page.goto(desk.at('/'));
    await page.getByRole('link', { name: 'Rosa Lind', exact: true }).click();
    await page.getByText('Record consent').first().click();
    await page.getByRole('button', { name: 'Save' }).first().click();
    await page.getByRole('link', { name: 'Reminders and breaks' }).click();
    await page.getByLabel('From').fill('20:00');
    await page.locator('#agreed').getByRole('button', { name: 'Save' }).click();
    await page.getByText('Add a break').click();
    await page.getByLabel('Reason').selectOption('Hospital stay');
    const today = new Date().toISOString().slice(0, 10);
    await page.getByLabel('First day').fill(today);
    await page.getByRole('button', { name: 'Add break' }).click();
    await page.getByRole('button', { name: 'End the stay' }).waitFor();
    expect(await page.getByText('Sessions are paused for a break.').count()).toBe(1);
    await page.getByText('Add a break').click();
    await look('reminders');
    await page.getByLabel('First day').fill(today);
    await page.getByRole('button', { name: 'Add break' }).click();
    // Beside it may stand that the warning sign could not be sent: this service has no mail server.
    const refused = page.getByRole('alert').filter({ hasText: 'Not saved yet' });
    expect(await refused.textContent()).toContain('enter a last day; you can change it later');
    await look('reminders-refused');
  });

  it('is as good on its other pages', async () => {
    for (const [name, path] of [
      ['people', '/'],
      ['programs', '/programs'],
      ['exercises', '/exercises'],
      ['records', '/records'],
      ['account', '/account'],
      ['colleagues', '/colleagues'],
      ['help', '/help'],
      // The widest chapter: files to be copied, and a table.
      ['help-watching', '/help/watching'],
      ['help-service', '/help/service'],
      ['nothing', '/nowhere'],
    ] as const) {
      await page.goto(desk.at(path));
      await look(name);
    }
    // The browser itself reports the page that was not found, and the forms that were refused on purpose.
    expect(desk.complaints.filter((text) => !/status of (400|404)/.test(text))).toEqual([]);
  });
});
