import type { Browser, BrowserContext, BrowserContextOptions, Page } from 'playwright-core';
import { openBrowser } from './browser.js';
import { openTestClinic, owner, type TestClinic } from './clinic.js';
import { lookAt } from './pageLook.js';

/** A clinician's desk: a clinic of her own, and one page of a browser in which she works. */
export class Desk {
  readonly clinic: TestClinic;
  readonly context: BrowserContext;
  readonly page: Page;
  /** What went wrong in the page. */
  readonly complaints: string[] = [];
  readonly #browser: Browser;

  private constructor(clinic: TestClinic, browser: Browser, context: BrowserContext, page: Page) {
    this.clinic = clinic;
    this.#browser = browser;
    this.context = context;
    this.page = page;
    page.on('pageerror', (error) => this.complaints.push(error.message));
    page.on('console', (message) => {
      if (message.type() === 'error') this.complaints.push(message.text());
    });
  }

  /** @param clinic one that somebody has opened; otherwise a new one, which has no owner yet */
  static async open(clinic?: TestClinic): Promise<Desk> {
    const [own, browser] = await Promise.all([clinic ?? openTestClinic(), openBrowser()]);
    const context = await browser.newContext({
      viewport: { width: 1440, height: 900 },
      // Nothing glides: what is pressed stays where it was seen.
      reducedMotion: 'reduce',
    });
    // A busy machine takes its time.
    context.setDefaultTimeout(120_000);
    return new Desk(own, browser, context, await context.newPage());
  }

  async close(): Promise<void> {
    await this.#browser.close();
    await this.clinic.remove();
  }

  /** Somebody else's browser. */
  newContext(options: BrowserContextOptions): Promise<BrowserContext> {
    return this.#browser.newContext(options);
  }

  /** The address of a page of the clinic. */
  at(path: string): string {
    return new URL(path, this.clinic.service.address).href;
  }

  async signIn(): Promise<void> {
    await this.page.goto(this.at('/sign-in'));
    await this.page.getByLabel('Email').fill(owner.email);
    await this.page.getByLabel('Password').fill(owner.password);
    await this.page.getByRole('button', { name: 'Sign in' }).click();
    await this.page.getByRole('heading', { name: 'Patients', exact: true }).waitFor();
  }

  look(name: string): Promise<void> {
    return lookAt(this.page, name);
  }

  /** Waits for the session to be drawn again after what `change` does. */
  async redrawn(change: () => Promise<void>): Promise<void> {
    const answer = this.page.waitForResponse(
      (response) => response.url().endsWith('/preview') && response.ok(),
    );
    await change();
    await (await answer).finished();
    await this.page.waitForSelector('[data-work]:not([aria-busy])');
  }

  /** Goes through the screens of the interview: yes to those named, no to the rest. */
  async interview(yes: readonly string[]): Promise<void> {
    const { page } = this;
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
}
