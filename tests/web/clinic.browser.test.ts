import { randomUUID } from 'node:crypto';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Plan } from '../../src/listening/plan.js';
import { hasChromium, openBrowser, whyNoChromium } from './browser.js';
import { openTestClinic, owner, type TestClinic } from './clinic.js';
import { lookAt } from './pageLook.js';

it('has a browser to run in', (context) => {
  if (!hasChromium && process.env.CI === undefined) context.skip(whyNoChromium);
  expect(hasChromium, whyNoChromium).toBe(true);
});

describe.skipIf(!hasChromium)('the clinic in a browser', { timeout: 400_000 }, () => {
  let clinic: TestClinic;
  let browser: Browser;
  let context: BrowserContext;
  let page: Page;
  const complaints: string[] = [];
  let interactions = 0;

  beforeAll(async () => {
    clinic = await openTestClinic();
    browser = await openBrowser();
    context = await browser.newContext({
      viewport: { width: 1440, height: 900 },
      // Nothing glides: what is pressed stays where it was seen.
      reducedMotion: 'reduce',
    });
    // A busy machine takes its time.
    context.setDefaultTimeout(120_000);
    page = await context.newPage();
    page.on('pageerror', (error) => complaints.push(error.message));
    page.on('console', (message) => {
      if (message.type() === 'error') complaints.push(message.text());
    });
  }, 120_000);
  afterAll(async () => {
    await browser.close();
    await clinic.remove();
  });

  async function fill(label: string, text: string): Promise<void> {
    interactions += 1;
    await page.getByLabel(label).first().fill(text);
  }
  async function press(name: string): Promise<void> {
    interactions += 1;
    await page.getByRole('button', { name }).click();
  }
  async function follow(name: string): Promise<void> {
    interactions += 1;
    await page.getByRole('link', { name }).click();
  }
  /** Waits for the session to be drawn again after what `change` does. */
  async function redrawn(change: () => Promise<void>): Promise<void> {
    const answer = page.waitForResponse((response) => response.url().endsWith('/preview') && response.ok());
    await change();
    await (await answer).finished();
    await page.waitForSelector('[data-work]:not([aria-busy])');
  }

  const look = (name: string) => lookAt(page, name);

  /** Goes through the screens of the interview: yes to those named, no to the rest. */
  async function interview(yes: readonly string[]): Promise<void> {
    while ((await page.getByRole('heading', { name: 'Review and save' }).count()) === 0) {
      for (const alone of await page.locator('fieldset[data-ask-alone]').all())
        await alone.getByLabel('No', { exact: true }).check();
      for (const name of yes) {
        const group = page.getByRole('group', { name, exact: true });
        if ((await group.count()) === 0) continue;
        await group.getByLabel('Yes').check();
        await group.getByRole('textbox').fill('T8 in June');
      }
      const rest = page.getByRole('button', { name: 'Answer No to the rest' });
      if ((await rest.count()) > 0) await rest.click();
      await page.getByRole('button', { name: 'Save and continue' }).click();
    }
  }

  it('leads from the first link to a signed program that was heard, in 25 steps or fewer', async () => {
    await page.goto(clinic.service.firstLink ?? '');
    await look('begin');
    await page.getByLabel('Clinic name').fill(owner.clinicName);
    await page.getByLabel('Time zone').fill(owner.zone);
    await page.getByLabel('Your name').fill(owner.name);
    await page.getByLabel('Your email').fill(owner.email);
    await page.getByLabel('Password').fill(owner.password);
    await page.getByRole('button', { name: 'Set up clinic' }).click();
    await look('people-none');
    await page.getByRole('button', { name: 'Sign out' }).click();
    await look('sign-in');

    // From here on it is an ordinary day.
    await fill('Email address', owner.email);
    await fill('Password', owner.password);
    await press('Sign in');
    await follow('Add the first patient');
    await look('person-new');
    await fill('Name As in', 'Rosa Lind');
    await fill('Birth year', '1944');
    await press('Save');
    // The interview is as long as it is, so it is not counted; each screen takes two steps at most beside the urgent ones.
    const beforeInterview = interactions;
    await look('screening');
    await interview(['Osteoporosis or Paget’s disease']);
    await look('screening-review');
    await page.getByRole('button', { name: 'Save screening' }).click();
    interactions = beforeInterview;
    await look('person');
    await follow('Prescribe a program');
    await press('Use starter');
    for (const shown of await page.getByLabel('Demonstrated').all()) {
      interactions += 1;
      await shown.check();
    }
    await look('prescribe');
    const hold = page.getByLabel('Hold (s)').first();
    await redrawn(async () => fill('Hold (s)', '6'));
    await redrawn(async () => fill('Repetitions', '6'));
    await redrawn(async () => fill('Out-breath, s', '6'));
    expect(await hold.inputValue()).toBe('6');
    await redrawn(async () => press('Listen'));
    await page.waitForSelector('audio');
    const heardSeconds = await page.evaluate(`new Promise((resolve) => {
      const audio = document.querySelector('audio');
      if (audio.duration > 0) resolve(audio.duration);
      audio.onloadedmetadata = () => resolve(audio.duration);
    })`);
    expect(heardSeconds, 'a first session takes about a quarter of an hour').toBeGreaterThan(840);
    await look('heard');
    await fill('Why One', 'First visit, a gentle start');
    await press('Sign this version');
    await look('program');
    expect(await page.textContent('main')).toContain('First visit, a gentle start');
    expect(interactions).toBeLessThanOrEqual(25);
    expect(complaints).toEqual([]);
  });

  it('plays from the place on the strip that is clicked', async () => {
    await page.setViewportSize({ width: 1440, height: 900 });
    await page.getByRole('link', { name: 'Edit program' }).click();
    // Nothing is to be heard yet: the click makes it so first.
    const strip = page.locator('svg.strip');
    const [left, perSecond] = [
      await strip.getAttribute('data-left'),
      await strip.getAttribute('data-px-per-second'),
    ];
    await redrawn(() => strip.click({ position: { x: Number(left) + 60 * Number(perSecond), y: 40 } }));
    const playedTo = async () => Number(await page.evaluate('document.querySelector("audio").currentTime'));
    await expect.poll(playedTo, { timeout: 10_000 }).toBeGreaterThan(60.2);
    expect(await playedTo()).toBeLessThan(75);
  });

  it('says what is wrong while it is typed, and draws the session again once it is right', async () => {
    const hold = page.getByLabel('Hold (s)').first();
    await redrawn(() => hold.fill('60'));
    const problems = page.locator('#problems');
    expect(await problems.textContent()).toContain('Straight head press, Hold (s)');
    expect(await page.locator('svg.strip').count()).toBe(0);
    const focused = await page.evaluate('document.activeElement.name');
    expect(focused, 'typing goes on').toBe(await hold.getAttribute('name'));
    await redrawn(() => hold.fill('6'));
    expect((await problems.textContent())?.trim()).toBe('');
    expect(await page.locator('svg.strip').count()).toBe(1);
  });

  it('finds exercises by words, purpose, position and what they do without', async () => {
    const found = async () => page.locator('#found strong').allTextContents();
    const choose = (name: string, option: string) =>
      redrawn(async () => {
        await page.locator(`[name="find.${name}"]`).selectOption(option);
      });
    const everything = (await found()).length;
    expect(everything).toBeGreaterThanOrEqual(28);
    await redrawn(() => page.locator('[name="find.text"]').fill('ankle'));
    expect(await found()).toContain('Ankle pumps');
    expect((await found()).length).toBeLessThan(8);
    await redrawn(() => page.locator('[name="find.text"]').fill(''));
    await choose('purpose', 'Breathing');
    expect((await found()).length).toBeLessThan(everything);
    await choose('purpose', '');
    await choose('without', 'Reaching overhead');
    expect(await found()).not.toContain('Overhead arm reach on the out-breath');
    await redrawn(() => page.getByRole('button', { name: 'Add Ankle pumps' }).click());
    const rows = await page.locator('[data-row] h3').allTextContents();
    expect(rows.at(-2), 'before the way out of bed').toContain('Ankle pumps');
    expect(rows.at(-1)).toContain('Getting out of bed');
    await redrawn(() => page.getByRole('button', { name: 'Remove Ankle pumps' }).click());
  });

  it('keeps unsigned work through a reload and a lost connection, and undoes it step by step', async () => {
    const hold = () => page.getByLabel('Hold (s)').first();
    await redrawn(() => hold().fill('7'));
    await page.reload();
    expect(await hold().inputValue()).toBe('7');

    await context.setOffline(true);
    await hold().fill('8');
    await page.waitForSelector('form[data-unsent]', { state: 'attached' });
    await redrawn(() => context.setOffline(false));
    await page.reload();
    expect(await hold().inputValue()).toBe('8');

    await redrawn(() => hold().fill('9'));
    await redrawn(() => page.getByRole('button', { name: 'Undo' }).click());
    expect(await hold().inputValue()).toBe('8');
    await redrawn(() => page.getByRole('button', { name: 'Redo' }).click());
    expect(await hold().inputValue()).toBe('9');
  });

  it('lets exercises be put in order by keyboard and by dragging', async () => {
    const names = async () =>
      (await page.locator('[data-row] h3').allTextContents()).map((name) => name.replace(/^.*?\d+\. /, ''));
    const before = await names();
    const up = page.getByRole('button', { name: 'Move Straight head press up' });
    await up.focus();
    await redrawn(() => page.keyboard.press('Enter'));
    expect((await names())[0]).toContain('Straight head press');
    const focused = await page.evaluate('document.activeElement.getAttribute("aria-label")');
    expect(focused, 'the key can be pressed again').toBe('Move Straight head press up');
    const handle = page.locator('[data-handle]');
    await redrawn(() => handle.first().dragTo(handle.nth(1), { steps: 12 }));
    expect(await names()).toEqual(before);
  });

  it('is as good where something is wrong, open or asked for', async () => {
    await page.goto(new URL('/', clinic.service.address).href);
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
    await interview(['Spinal fracture in the last six months', 'Earlier spinal fracture']);
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
    await redrawn(() => page.getByRole('button', { name: 'Add Knee rolls' }).click());
    await page.getByRole('button', { name: 'Sign this version' }).click();
    await look('prescribe-refused');
    await page.goto(new URL('/', clinic.service.address).href);
    await look('people-waiting');
    await page.goto(new URL('/account', clinic.service.address).href);
    await page.getByRole('button', { name: 'Set up two-step verification' }).click();
    await look('account-second-step');
    await page.goto(new URL('/colleagues', clinic.service.address).href);
    await page.getByRole('button', { name: 'Make link' }).click();
    await look('colleagues-link');
    await page.goto((await page.locator('strong.long').textContent()) ?? '');
    await look('join');
  });

  it('gives a link, and shows what came of it, a warning sign before all else', async () => {
    await page.goto(new URL('/', clinic.service.address).href);
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
    await page.goto(new URL('/', clinic.service.address).href);
    await page.getByRole('link', { name: 'Review the sign: Rosa Lind' }).click();
    await look('person-warned');
    await page.getByLabel('What you found and did').fill('Telephoned; muscle ache, settles with rest');
    await page.getByRole('button', { name: 'Answer and allow the program' }).click();
    await page.goto(person);
    expect(await page.getByRole('alert').count(), 'it is answered').toBe(0);
    await page.getByRole('link', { name: 'Sessions', exact: true }).click();
    await look('heard');
    const heard = (await page.textContent('main')) ?? '';
    expect(heard).toContain('Telephoned; muscle ache, settles with rest');
    expect(heard).toContain('pain before 3, after 6; effort skipped');
  });

  it('is as good where reminders are agreed on, breaks are written down, and one of them cannot be', async () => {
    await page.goto(new URL('/', clinic.service.address).href);
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
      ['records', '/records'],
      ['account', '/account'],
      ['colleagues', '/colleagues'],
      ['help', '/help'],
      // The widest chapter: files to be copied, and a table.
      ['help-watching', '/help/watching'],
      ['help-service', '/help/service'],
      ['nothing', '/nowhere'],
    ] as const) {
      await page.goto(new URL(path, clinic.service.address).href);
      await look(name);
    }
    // The browser itself reports the page that was not found, and the forms that were refused on purpose.
    expect(complaints.filter((text) => !/status of (400|404)|ERR_INTERNET_DISCONNECTED/.test(text))).toEqual(
      [],
    );
  });
});
