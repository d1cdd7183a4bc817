import type { Locator, Page } from 'playwright-core';
import { expect } from 'vitest';
import type { PlayedSession } from '../../../src/listening/plan.js';
import type { Report } from '../../../src/listening/report.js';

const apartMs = 500;
/** A little longer than the page ignores what is pressed after a change of view. */
const steadyMs = 720;
const mostLooks = 20;
/** What is still heard of a sentence that is heard out. */
const endSeconds = 0.3;
/** A little longer than the page takes another press for the same trembling hand. */
const calmMs = 450;
export const calm = () => new Promise((resolve) => setTimeout(resolve, calmMs));
/** Notes in the page when something else came under the finger. */
const notesChanges = `new MutationObserver((records) => {
  const isNew = ({ type, target, attributeName, oldValue }) =>
    type === 'childList' ? target.matches?.('[data-people]') : target.getAttribute(attributeName) !== oldValue;
  if (records.some(isNew)) window.changedAtMs = performance.now();
}).observe(document, {
  subtree: true, childList: true, attributeOldValue: true, attributeFilter: ['hidden', 'data-shows', 'disabled'],
});`;

/** Waits until something holds; a busy machine takes its time. */
export const soon = <Value>(ask: () => Value, message?: string) =>
  expect.poll(ask, { timeout: 15_000, interval: 50, ...(message === undefined ? {} : { message }) });

const saidMark = 'said: ';
/** Notes each sentence when it is really heard. */
const notesSaid = `document.addEventListener('playing', ({ target }) => {
  if (target.dataset.says !== undefined) console.debug('${saidMark}' + target.dataset.says);
}, true);`;

/** A listening page on a phone, as its owner uses it. */
export class Phone {
  readonly page: Page;
  readonly address: string;
  /** What went wrong in the page. */
  readonly complaints: string[] = [];
  /** Ids of what was sent to the service, each time that it was. */
  readonly sentIds: string[] = [];
  /** Sentences that were said, by key. */
  readonly said: string[] = [];

  #touchedAtMs = 0;

  constructor(page: Page, address: string) {
    this.page = page;
    this.address = address;
    page.addInitScript(notesChanges);
    page.on('pageerror', (error) => this.complaints.push(error.message));
    page.on('request', (request) => {
      if (request.url().endsWith('/report')) {
        const { items }: Report = JSON.parse(request.postData() ?? '{"items":[]}');
        this.sentIds.push(...items.map(({ id }) => id));
      }
    });
    page.addInitScript(notesSaid);
    page.on('console', (line) => {
      if (line.text().startsWith(saidMark)) this.said.push(line.text().slice(saidMark.length));
    });
  }

  async open(): Promise<void> {
    await this.page.goto(this.address);
    await this.sees('today');
  }

  /** The same browser after the page was closed. */
  async again(): Promise<Phone> {
    return new Phone(await this.page.context().newPage(), this.address);
  }

  view(name: string): Locator {
    return this.page.locator(`[data-view="${name}"]:not([hidden])`);
  }

  async sees(name: string): Promise<void> {
    await this.view(name).waitFor();
    await this.steady();
  }

  async press(name: string): Promise<void> {
    const button = this.page.getByRole('button', { name, exact: true });
    await button.waitFor();
    await this.steady();
    await button.click();
    await this.steady();
  }

  /** Waits until a touch counts again after a change of view. */
  async steady(): Promise<void> {
    // Where a test holds the page's clock, no time goes by there.
    for (let looks = 0; looks < mostLooks; looks += 1) {
      const sinceMs = Number(await this.page.evaluate('performance.now() - (window.changedAtMs ?? 0)'));
      if (sinceMs > steadyMs) return;
      await new Promise((resolve) => setTimeout(resolve, steadyMs - sinceMs + 20));
    }
  }

  /** One touch somewhere on the screen, not so soon after the last that it would count as a trembling hand. */
  async touch(x = 200, y = 500): Promise<void> {
    await this.steady();
    const waitMs = this.#touchedAtMs + apartMs - Date.now();
    if (waitMs > 0) await new Promise((resolve) => setTimeout(resolve, waitMs));
    this.#touchedAtMs = Date.now();
    await this.page.touchscreen.tap(x, y);
  }

  /** A finger that stays on the screen until something else is seen. */
  async pressLong(until: string): Promise<void> {
    await this.page.mouse.move(200, 400);
    await this.page.mouse.down();
    await this.sees(until);
    await this.page.mouse.up();
    await calm();
  }

  /** Waits until the player is seen in a state. */
  async isIn(state: 'playing' | 'paused' | 'trouble'): Promise<void> {
    const seen = () =>
      this.page.evaluate(
        '[document.body.dataset.shows, document.querySelector("[data-view=player]").dataset.state]',
      );
    await expect.poll(seen, { timeout: 45_000 }).toEqual(['player', state]);
    await this.steady();
  }

  /** Where the sound is, in milliseconds. */
  async positionMs(): Promise<number> {
    return (
      1_000 * Number(await this.page.evaluate(`document.querySelector('[data-sound=session]').currentTime`))
    );
  }

  /** As if time had passed: the waiting is not the point. */
  async jumpTo(ms: number): Promise<void> {
    await this.page.evaluate(`document.querySelector('[data-sound=session]').currentTime = ${ms / 1_000}`);
    await soon(() => this.positionMs()).toBeGreaterThan(ms);
  }

  /** As if the sentence that is being said had been heard almost to its end: the waiting is not the point. */
  async hearOut(): Promise<void> {
    await this.page.evaluate(`{
      const voice = document.querySelector('[data-sound=voice]');
      if (voice.duration > ${endSeconds}) voice.currentTime = Math.max(voice.currentTime, voice.duration - ${endSeconds});
    }`);
  }

  /** From the first view to the first sound of a session. */
  async begin(): Promise<void> {
    await this.press('Begin');
    if (await this.page.getByRole('button', { name: 'Everything is ready' }).isVisible())
      await this.press('Everything is ready');
    await this.sees('welcome');
    await this.touch();
    await this.isIn('playing');
  }

  /** The session for now, as its player has it. */
  async played(): Promise<PlayedSession> {
    const text = await this.page.evaluate(`(async () => {
      const plan = JSON.parse(document.querySelector('#plan').textContent);
      const session = plan.people[0].sessions.find(({ state }) => state !== 'missed');
      return (await fetch(session.session)).text();
    })()`);
    return JSON.parse(String(text));
  }
}
