import { join } from 'node:path';
import Database from 'better-sqlite3';
import type { Browser, BrowserContext, BrowserContextOptions } from 'playwright-core';
import type { Plan } from '../../../src/listening/plan.js';
import { isoDayIn, wallClockInstant } from '../../../src/schedule/wallClock.js';
import { neededFor } from '../../../src/web/client/listen/needed.js';
import { openBrowser } from '../browser.js';
import {
  addPerson,
  giveLink,
  openClinicWithPerson,
  person,
  screen,
  signShortProgram,
  type TestClinic,
  type Visitor,
} from '../clinic.js';
import { Phone } from './phone.js';
import { Wire } from './wire.js';

export type Patient = { id: string; path: string; link: string };
export type Told = { kind: string; id: string; atMs: number; [field: string]: unknown };

const tables = { step: 'listeningStep', 'not-today': 'notToday', 'check-in': 'checkIn', warning: 'warning' };

/** A clinic with people who have a short program, and a browser in which their phones are opened. */
export class Ward {
  readonly clinic: TestClinic;
  readonly ada: Visitor;
  readonly browser: Browser;
  readonly wire: Wire;
  readonly #contexts: BrowserContext[] = [];

  private constructor(clinic: TestClinic, ada: Visitor, browser: Browser, wire: Wire) {
    this.clinic = clinic;
    this.ada = ada;
    this.browser = browser;
    this.wire = wire;
  }

  static async open(): Promise<Ward> {
    const [{ clinic, ada }, browser] = await Promise.all([openClinicWithPerson(), openBrowser()]);
    await ada.submit('/colleagues/contact', { phone: '0100 555 00', emergencyNumber: '112' });
    const wire = new Wire(() => new URL(clinic.service.address));
    await wire.open();
    return new Ward(clinic, ada, browser, wire);
  }

  async close(): Promise<void> {
    await this.browser.close();
    await this.wire.close();
    await this.clinic.remove();
  }

  /** Somebody with a program that is due at nine, Vienna time, and a link. All are called Rosa: one voice for all. */
  async patient(fields: Record<string, string> = {}): Promise<Patient> {
    const path = await addPerson(this.ada, { ...person, name: 'Rosa Lind' });
    await screen(this.ada, path, []);
    await signShortProgram(this.ada, path);
    const { path: link } = await giveLink(this.ada, path, fields);
    return { id: path.split('/')[2] ?? '', path, link };
  }

  /** Sets the service's clock to a time of today in Vienna; the clinic is signed out by that, phones are not. */
  async setTime(time: string): Promise<number> {
    const nowMs = wallClockInstant(isoDayIn(Date.now(), person.zone), time, person.zone);
    this.clinic.clock.aheadMs = nowMs - Date.now();
    return nowMs;
  }

  /** Has the service speak all that a link may play, so that no test waits for the voice. */
  async warmUp(link: string): Promise<void> {
    const base = new URL(link, this.clinic.service.address);
    const plan: Plan = JSON.parse(await (await fetch(new URL('plan.json', base))).text());
    for (const address of neededFor(plan)) await (await fetch(new URL(address, base))).arrayBuffer();
  }

  async phone(link: string, options: BrowserContextOptions = {}): Promise<Phone> {
    const context = await this.browser.newContext({
      viewport: { width: 390, height: 844 },
      hasTouch: true,
      reducedMotion: 'reduce',
      ...options,
    });
    this.#contexts.push(context);
    return new Phone(await context.newPage(), this.wire.address + link);
  }

  /** What the service keeps of somebody, of one kind, in the order in which it came in. */
  told(patientId: string, kind: keyof typeof tables): Told[] {
    const database = new Database(join(this.clinic.folder, 'clinic.db'), { readonly: true });
    try {
      const rows = database
        .prepare(`select *, rowid from ${tables[kind]} where patientId = ? order by rowid`)
        .all(patientId);
      return rows.map((row) => ({ kind, ...Object(row) }));
    } finally {
      database.close();
    }
  }
}
