import { join } from 'node:path';
import type { Browser, BrowserContext, BrowserContextOptions } from 'playwright-core';
import { buildPrefetchList } from '../../../src/browser/listen/prefetchList.js';
import type { Plan } from '../../../src/listening/plan.js';
import { addDays, isoDayIn, wallClockInstant } from '../../../src/schedule/wallClock.js';
import { Sqlite } from '../../sqlite.js';
import { openBrowser } from '../../support/browser.js';
import {
  addPerson,
  giveLink,
  openClinicWithPerson,
  owner,
  person,
  screen,
  signShortProgram,
  type TestClinic,
  Visitor,
} from '../../support/clinic.js';
import { Phone } from './phone.js';
import { Wire } from './wire.js';

export type Patient = { id: string; path: string; link: string };
export type Told = { kind: string; id: string; atMs: number; [field: string]: unknown };

const tables = { step: 'listeningStep', 'not-today': 'notToday', 'check-in': 'checkIn', warning: 'warning' };

/** A clinic with people who have a short program, and a browser in which their phones are opened. */
export class Ward {
  #signedIn: { ada: Visitor; aheadMs: number } | null = null;
  /** Of the test that runs. */
  readonly #phones: BrowserContext[] = [];
  readonly clinic: TestClinic;
  readonly browser: Browser;
  readonly wire: Wire;

  private constructor(clinic: TestClinic, browser: Browser, wire: Wire) {
    this.clinic = clinic;
    this.browser = browser;
    this.wire = wire;
  }

  static async open(): Promise<Ward> {
    const [{ clinic, ada }, browser] = await Promise.all([openClinicWithPerson(), openBrowser()]);
    await ada.submit('/colleagues/contact', { phone: '0100 555 00', emergencyNumber: '112' });
    const wire = new Wire(() => new URL(clinic.service.address));
    await wire.open();
    const ward = new Ward(clinic, browser, wire);
    ward.setTime('09:05');
    await ward.#warmUp((await ward.patient()).link);
    return ward;
  }

  async close(): Promise<void> {
    await this.browser.close();
    await this.wire.close();
    await this.clinic.remove();
  }

  /**
   * Somebody with a program that is due at nine, Vienna time, and a link. All are called Rosa: one voice for all.
   *
   * @param fields of the link
   * @param program what differs from the short program
   */
  patient(fields: Record<string, string> = {}, program: Record<string, string> = {}): Promise<Patient> {
    return this.inClinic(async (ada) => {
      const path = await addPerson(ada, { ...person, name: 'Rosa Lind' });
      await screen(ada, path, []);
      await signShortProgram(ada, path, program);
      const { path: link } = await giveLink(ada, path, fields);
      return { id: path.split('/')[2] ?? '', path, link };
    });
  }

  /** The link of somebody who cares for a patient, and who may see what was done. */
  caregiver({ path }: Patient): Promise<string> {
    return this.inClinic(async (ada) => {
      await ada.submit(`${path}/caregivers`, { name: 'Jule Lind', relation: 'daughter' });
      const page = await (await ada.get(path)).text();
      const caregiverId = /\/caregivers\/([\w-]{36})\/link/.exec(page)?.[1] ?? '';
      const consent = { kind: 'caregiver-sees-done', caregiverId, isGiven: 'yes', onDate: '2026-11-20' };
      await ada.submit(`${path}/consents`, consent);
      return (await giveLink(ada, `${path}/caregivers/${caregiverId}`)).path;
    });
  }

  /** Replaces a patient's link; the one before ends. */
  newLink({ path }: Patient): Promise<string> {
    return this.inClinic(async (ada) => (await giveLink(ada, path)).path);
  }

  /** What the clinic does. It signs in anew when clocks have leapt, which ends a sign-in; more often is limited. */
  async inClinic<Result>(act: (ada: Visitor) => Promise<Result>): Promise<Result> {
    const { aheadMs } = this.clinic.clock;
    if (this.#signedIn?.aheadMs !== aheadMs) {
      const ada = new Visitor(() => this.clinic.service.address);
      await ada.post('/sign-in', { email: owner.email, password: owner.password });
      this.#signedIn = { ada, aheadMs };
    }
    return act(this.#signedIn.ada);
  }

  /**
   * Sets the service's clock to a time in Vienna, today or some days later.
   *
   * @returns that instant, epoch ms
   */
  setTime(time: string, daysAhead = 0): number {
    const today = isoDayIn(Date.now(), person.zone);
    const nowMs = wallClockInstant(addDays(today, daysAhead), time, person.zone);
    this.clinic.clock.aheadMs = nowMs - Date.now();
    return nowMs;
  }

  /** Has the service speak all that a link may play, so that no test waits for the voice. */
  async #warmUp(link: string): Promise<void> {
    const base = new URL(link, this.clinic.service.address);
    const plan: Plan = JSON.parse(await (await fetch(new URL('plan.json', base))).text());
    for (const address of buildPrefetchList(plan)) await (await fetch(new URL(address, base))).arrayBuffer();
  }

  async phone(link: string, options: BrowserContextOptions = {}): Promise<Phone> {
    const context = await this.browser.newContext({
      viewport: { width: 390, height: 844 },
      hasTouch: true,
      reducedMotion: 'reduce',
      ...options,
    });
    this.#phones.push(context);
    return new Phone(await context.newPage(), this.wire.address + link);
  }

  /** Lets the phones that are there stay for all tests that follow. */
  keepPhones(): void {
    this.#phones.splice(0);
  }

  /** Closes the phones of a test: what goes on playing there keeps the machine busy for nobody. */
  async putPhonesAway(): Promise<void> {
    await Promise.all(this.#phones.splice(0).map((phone) => phone.close()));
  }

  /** What the service keeps of somebody, of one kind, in the order in which it happened. */
  told(patientId: string, kind: keyof typeof tables): Told[] {
    const database = new Sqlite(join(this.clinic.folder, 'clinic.db'), { readonly: true });
    try {
      const rows = database
        .prepare(`select * from ${tables[kind]} where patientId = ? order by atMs`)
        .all(patientId);
      return rows.map((row) => ({ kind, ...Object(row) }));
    } finally {
      database.close();
    }
  }
}
