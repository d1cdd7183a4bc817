import { randomUUID } from 'node:crypto';
import type { Browser } from 'playwright-core';
import { expect } from 'vitest';
import type { Plan } from '../../src/listening/plan.js';
import { addDays, isoDayIn, wallClockInstant } from '../../src/schedule/wallClock.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { isoDay } from '../../src/text/dates.js';
import { Phone } from '../browser/listen/phone.js';
import { Wire } from '../browser/listen/wire.js';
import { openMailServerForTest, type Received, type TestMailServer } from '../channels/mailServer.js';
import { textOf } from '../documents/poppler.js';
import { openBrowser } from '../support/browser.js';
import { addPerson, giveLink, openTestClinic, owner, type TestClinic, Visitor } from '../support/clinic.js';
import { formOf } from '../support/forms.js';
import { idOf } from '../support/listener.js';
import { read } from '../support/remindersClinic.js';

const { zone } = owner;
const doctor = 'Dr. Fenn';
/** What she says yes to: a fracture that was cleared, and what asks for another set-up, another pace, other words. */
const history = [
  'osteoporosis',
  'spinal-fracture',
  'old-spinal-fracture',
  'eye-pressure',
  'standing-faintness',
  'hearing',
  'reflux',
  'sore-shoulder',
];
/** A good day. */
const well = { done: 'all', painBefore: 3, painAfter: 2, effort: 3, signs: [] };

type Form = Record<string, string>;

async function exerciseTitles(): Promise<Map<string, string>> {
  const english = (await readCatalogues('audio-templates')).get('en') ?? expect.unreachable();
  return new Map([...english.exercises.values()].map(({ id, name }) => [id, name]));
}

/** One clinic, one clinician, one person and her phone, on one clock that the test moves. */
export class Visit {
  readonly clinic: TestClinic;
  readonly ada: Visitor;
  readonly complaints: string[] = [];
  readonly adaMail = owner.email;
  /** Of the person's page. */
  path = '';
  /** Of her program's page. */
  program = '';
  #link = '';
  readonly #browser: Browser;
  readonly #mail: TestMailServer;
  /** The day of the first screening, on her own clock. */
  readonly #first = isoDayIn(Date.now(), zone);

  /** Where the phone reaches the service, whichever port it is started on. */
  readonly #wire: Wire;

  private constructor(clinic: TestClinic, browser: Browser, mail: TestMailServer, wire: Wire) {
    this.clinic = clinic;
    this.#browser = browser;
    this.#mail = mail;
    this.#wire = wire;
    this.ada = new Visitor(() => clinic.service.address);
  }

  static async open(): Promise<Visit> {
    const mail = await openMailServerForTest();
    const clinic = await openTestClinic({
      STILLCOUNT_MAIL_URL: `smtp://127.0.0.1:${mail.port}`,
      STILLCOUNT_MAIL_FROM: 'clinic@example.org',
      STILLCOUNT_ADDRESS: 'https://clinic.example.org',
    });
    const wire = new Wire(() => new URL(clinic.service.address));
    await wire.open();
    const visit = new Visit(clinic, await openBrowser(), mail, wire);
    await visit.ada.post(new URL(clinic.service.firstLink ?? '').pathname, owner);
    await visit.ada.submit('/colleagues/contact', { phone: '0100 555 00', emergencyNumber: '112' });
    return visit;
  }

  async close(): Promise<void> {
    await this.#browser.close();
    await this.#wire.close();
    await this.clinic.remove();
    await this.#mail.stop();
  }

  signIn(): Promise<Response> {
    return this.ada.post('/sign-in', owner);
  }

  /** Sets the service's clock to a time of a later day, and signs in anew: a sign-in does not outlive such a leap. */
  async goTo(day: number, time: string): Promise<void> {
    this.clinic.clock.aheadMs = wallClockInstant(addDays(this.#first, day), time, zone) - Date.now();
    await this.signIn();
  }

  async page(path: string): Promise<string> {
    return read(this.ada.get(path));
  }

  textOf(answer: Response): Promise<string> {
    return read(Promise.resolve(answer));
  }

  async begin(fields: Form): Promise<void> {
    this.path = await addPerson(this.ada, { zone, email: 'gerda@example.org', ...fields });
  }

  /** Answers the next screens of the interview; without a number all that are left, and saves it. */
  async answerScreens(most = Number.POSITIVE_INFINITY): Promise<void> {
    const formToken = await this.ada.formToken();
    let at = (await this.ada.get(`${this.path}/screening`)).headers.get('location') ?? '';
    for (let screens = 0; screens < most && !at.endsWith('/review'); screens += 1) {
      expect(at).toContain(`${this.path}/screening/`);
      const page = await (await this.ada.get(at)).text();
      const ids = [...page.matchAll(/name="answers\.([\w-]+)\.details"/g)].map(([, id]) => id ?? '');
      const answers = ids.flatMap((id) => [
        [`answers.${id}.answer`, history.includes(id) ? 'yes' : 'no'],
        [`answers.${id}.details`, history.includes(id) ? 'T8 in July' : ''],
      ]);
      at =
        (await this.ada.post(at, { formToken, ...Object.fromEntries(answers) })).headers.get('location') ??
        '';
    }
    if (at.endsWith('/review'))
      expect((await this.ada.submit(at, {})).headers.get('location')).toBe(this.path);
  }

  async draftOfStarter(): Promise<Form> {
    return formOf(await this.ada.submit(`${this.path}/prescribe`, { starter: 'first', do: 'starter' }));
  }

  /** Settles every precaution: cleared by her doctor where that is asked for, else done the modified way. */
  settle(form: Form): Form {
    const clearedOn = isoDay(Date.now() - 20 * 86_400_000, 'UTC');
    const ids = Object.keys(form).flatMap(
      (name) => /^settlements\.([\w-]+)\.exercises$/.exec(name)?.[1] ?? [],
    );
    const settled = ids.flatMap((id) =>
      form[`settlements.${id}.clearedBy`] === undefined
        ? [[`settlements.${id}.isArranged`, 'yes']]
        : [
            [`settlements.${id}.clearedBy`, doctor],
            [`settlements.${id}.clearedOn`, clearedOn],
          ],
    );
    return { ...form, ...Object.fromEntries(settled) };
  }

  async change(): Promise<Form> {
    return formOf(await this.ada.get(`${this.program}/change`));
  }

  /** What a step of one repetition more would send, for the first exercise that counts repetitions. */
  async raise(): Promise<Form> {
    const form = await this.change();
    const name = Object.keys(form).find((key) => key.endsWith('.dose.reps')) ?? expect.unreachable();
    return { ...form, [name]: String(Number(form[name]) + 1) };
  }

  /** Signs the first version, or a change once there is a program. */
  sign(form: Form): Promise<Response> {
    const at = this.program === '' ? `${this.path}/prescribe` : `${this.program}/change`;
    return this.ada.post(at, { ...form, reason: 'As spoken about at the visit', do: 'sign' });
  }

  /** Every exercise of the signed program, by its title, with the numbers of its dose. */
  async signedDoses(): Promise<{ title: string; numbers: string[] }[]> {
    const form = await this.change();
    const titles = await exerciseTitles();
    return Object.entries(form).flatMap(([name, id]) => {
      const entry = /^(program\.exercises\.\d+)\.exercise$/.exec(name)?.[1];
      if (entry === undefined) return [];
      const numbers = ['reps', 'holdSeconds'].flatMap((part) => form[`${entry}.dose.${part}`] || []);
      return [{ title: titles.get(id) ?? expect.unreachable(id), numbers }];
    });
  }

  /** Throws away what is typed and not signed. */
  async throwAway(form: Form): Promise<void> {
    expect((await this.ada.post(`${this.program}/change`, { ...form, do: 'discard' })).status).toBe(303);
  }

  async giveLink(): Promise<void> {
    this.#link = (await giveLink(this.ada, this.path)).path;
  }

  #at(path: string): URL {
    return new URL(path, this.clinic.service.address);
  }

  async handout(): Promise<string> {
    const address = `${this.path}/papers/handout?program=${idOf(this.program)}&paper=letter`;
    return textOf(new Uint8Array(await (await this.ada.get(address)).arrayBuffer())).replaceAll(/\s+/g, ' ');
  }

  async plan(): Promise<Plan> {
    return JSON.parse(await (await fetch(this.#at(`${this.#link}plan.json`))).text());
  }

  async #planned() {
    const sessions = (await this.plan()).people[0]?.sessions ?? [];
    return sessions.find(({ state }) => state !== 'missed') ?? expect.unreachable('nothing is planned');
  }

  async versionPlanned(): Promise<number> {
    return (await this.plan()).people[0]?.sessions.at(-1)?.versionNumber ?? expect.unreachable();
  }

  /** What is heard, in words. */
  async spoken(): Promise<string> {
    const { words } = await this.#planned();
    return (await fetch(this.#at(`${this.#link}${words}`))).text();
  }

  async agreeToMail(): Promise<void> {
    const consent = { kind: 'reminders', caregiverId: '', isGiven: 'yes', onDate: this.#first };
    expect((await this.ada.submit(`${this.path}/consents`, consent)).status).toBe(303);
  }

  mailTo(address: string): Received[] {
    return this.#mail.received.filter(({ to }) => to.includes(address));
  }

  /** Starts the service anew, which begins its work at once, and waits for a letter. */
  async untilMail(address: string, count = 1): Promise<void> {
    await this.clinic.restart();
    await this.signIn();
    await expect.poll(() => this.mailTo(address).length, { timeout: 60_000 }).toBe(count);
  }

  /** A session on her phone: begun, paused, gone on with after the service was stopped, heard to its end, told of. */
  async listen(note: string): Promise<void> {
    const context = await this.#browser.newContext({
      viewport: { width: 360, height: 640 },
      hasTouch: true,
      reducedMotion: 'reduce',
    });
    const phone = new Phone(await context.newPage(), this.#wire.address + this.#link);
    await phone.open();
    const begin = phone.page.getByRole('button', { name: 'Begin', exact: true });
    await expect.poll(() => begin.isEnabled(), { timeout: 120_000 }).toBe(true);
    await phone.begin();
    const { durationMs } = await phone.played();
    await phone.jumpTo(durationMs / 2);
    await phone.touch();
    await phone.isIn('paused');
    await this.clinic.restart();
    await this.signIn();
    await phone.touch();
    await phone.isIn('playing');
    await phone.jumpTo(durationMs - 1_500);
    await phone.sees('sit-up');
    await phone.press('I am sitting up');
    const choose = async (name: string) => {
      await phone.page.getByRole('radio', { name, exact: true }).check();
      await phone.press('Next');
    };
    for (const answer of ['All of it', '3', '2', '3']) await choose(answer);
    await phone.page.getByRole('checkbox', { name: 'None of these' }).check();
    await phone.press('Next');
    await phone.page.getByRole('textbox').fill(note);
    await phone.press('Next');
    // The phone asks at once whether it is a warning sign.
    await phone.view('note-words').waitFor();
    await phone.press('I am all right. Just save my note');
    await phone.sees('thanks');
    this.complaints.push(...phone.complaints);
    await context.close();
  }

  /** Tells of one good session on each day from one to another, heard to its end, as her phone would. */
  async tellDays(from: number, to: number): Promise<void> {
    const { versionNumber } = await this.#planned();
    for (let day = from; day <= to; day += 1) {
      await this.goTo(day, '12:00');
      const on = addDays(this.#first, day);
      const about = this.#about(on, versionNumber);
      const atMs = wallClockInstant(on, '09:00', zone);
      const step = { kind: 'step', ...about };
      await this.#report([
        { ...step, id: randomUUID(), step: 'started', positionMs: 0, atMs },
        { ...step, id: randomUUID(), step: 'finished', positionMs: 1_100_000, atMs: atMs + 1_100_000 },
        { kind: 'check-in', ...about, id: randomUUID(), answers: well, atMs: atMs + 1_200_000 },
      ]);
    }
  }

  async tellWarning(sign: string): Promise<void> {
    const { versionNumber, slot } = await this.#planned();
    const about = this.#about(slot.slice(0, 10), versionNumber);
    const atMs = Date.now() + this.clinic.clock.aheadMs;
    await this.#report([
      { kind: 'check-in', ...about, id: randomUUID(), answers: { ...well, signs: [sign] }, atMs },
    ]);
  }

  #about(day: string, versionNumber: number) {
    return {
      ...{ patientId: idOf(this.path), prescriptionId: idOf(this.program), versionNumber },
      ...{ sessionNumber: 1, slot: `${day}#1`, listeningId: randomUUID() },
    };
  }

  async #report(items: object[]): Promise<void> {
    const answer = await fetch(this.#at(`${this.#link}report`), {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ sentAtMs: Date.now() + this.clinic.clock.aheadMs, items }),
    });
    expect(await answer.json()).toMatchObject({ refused: [] });
  }

  async readNotes(found: string): Promise<void> {
    const page = await (await this.ada.get(this.path)).text();
    const ids = [...page.matchAll(/name="note" value="([^"]+)"/g)].map(([, id]) => id ?? '');
    expect(ids).toHaveLength(1);
    expect((await this.ada.submit(`${this.path}/notes`, { note: ids[0] ?? '', found })).status).toBe(303);
  }

  /** Signs the one step that is advised, in a browser. */
  async signAdvice(): Promise<void> {
    const context = await this.#browser.newContext({ viewport: { width: 1280, height: 900 } });
    const page = await context.newPage();
    page.on('pageerror', ({ message }) => this.complaints.push(message));
    await page.goto(this.#at('/sign-in').href);
    await page.getByLabel('Email').fill(owner.email);
    await page.getByLabel('Password').fill(owner.password);
    await page.getByRole('button', { name: 'Sign in' }).click();
    await page.getByRole('heading', { name: 'Patients', exact: true }).waitFor();
    await page.goto(this.#at(`${this.path}/advice`).href);
    await page.getByRole('button', { name: 'Sign this step' }).first().click();
    await page.getByText('version 3').first().waitFor();
    await context.close();
  }

  async answerWarning(note: string): Promise<void> {
    const seenUpToMs = String(Date.now() + this.clinic.clock.aheadMs);
    const answer = await this.ada.submit(`${this.path}/warnings`, { seenUpToMs, outcome: 'go-on', note });
    expect(answer.status).toBe(303);
  }
}
