import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { hasChromium, whyNoChromium } from '../../support/browser.js';
import { owner } from '../../support/clinic.js';
import { Desk } from '../../support/desk.js';

it('has a browser to run in', (context) => {
  if (!hasChromium && process.env.CI === undefined) context.skip(whyNoChromium);
  expect(hasChromium, whyNoChromium).toBe(true);
});

describe.skipIf(!hasChromium)('prescribing in a browser', { timeout: 400_000 }, () => {
  let desk: Desk;
  let page: Page;
  let interactions = 0;

  beforeAll(async () => {
    desk = await Desk.open();
    page = desk.page;
  }, 120_000);
  afterAll(() => desk.close());

  const look = (name: string) => desk.look(name);
  const redrawn = (change: () => Promise<void>) => desk.redrawn(change);

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

  it('leads from the first link to a signed program that was heard, in 25 steps or fewer', async () => {
    await page.goto(desk.clinic.service.firstLink ?? '');
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
    await desk.interview(['Osteoporosis or Paget’s disease']);
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
    await page.locator('summary').first().click();
    await look('prescribe');
    const figures = await page.locator('#figures svg').all();
    const boxes = await Promise.all(figures.map((figure) => figure.boundingBox()));
    expect(boxes).toHaveLength(5);
    for (const box of boxes) expect(Math.min(box?.width ?? 0, box?.height ?? 0), 'seen').toBeGreaterThan(30);
    const lines = boxes.map((box) => Math.round((box?.y ?? 0) + (box?.height ?? 0)));
    expect(new Set(lines).size, 'beds on one line').toBe(1);
    const loaded = () =>
      page.evaluate('[...document.querySelectorAll("#poses-0 img")].map((image) => image.naturalWidth > 0)');
    await expect.poll(loaded).toEqual([true, true]);
    const hold = page.getByLabel('Hold (s)').first();
    await redrawn(async () => fill('Hold (s)', '6'));
    await redrawn(async () => fill('Repetitions', '6'));
    await redrawn(async () => fill('Breath out (s)', '6'));
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
    await fill('Reason One', 'First visit, a gentle start');
    await press('Sign this version');
    await look('program');
    expect(await page.textContent('main')).toContain('First visit, a gentle start');
    expect(interactions).toBeLessThanOrEqual(25);
    expect(desk.complaints).toEqual([]);
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
    await choose('without', 'Overhead reach');
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

    await desk.context.setOffline(true);
    await hold().fill('8');
    await page.waitForSelector('form[data-unsent]', { state: 'attached' });
    await redrawn(() => desk.context.setOffline(false));
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
    // The browser itself reports that it was offline.
    expect(desk.complaints.filter((text) => !text.includes('ERR_INTERNET_DISCONNECTED'))).toEqual([]);
  });
});
