import { expect } from 'vitest';
import { addDays, isoDayIn, wallClockInstant } from '../../src/schedule/wallClock.js';
import {
  addPerson,
  linkForAnotherClinic,
  openClinicWithPerson,
  owner,
  person,
  screen,
  Visitor,
} from './clinic.js';

/** Nothing answers there: no message of these tests leaves the machine. */
const settings = {
  STILLCOUNT_MAIL_URL: 'smtp://127.0.0.1:9',
  STILLCOUNT_MAIL_FROM: 'clinic@example.org',
  STILLCOUNT_TEXT_URL: 'http://127.0.0.1:9/messages',
  STILLCOUNT_ADDRESS: 'https://clinic.example.org',
  STILLCOUNT_TEXT_SECRET: 'a secret of these tests, and long enough',
};
const colleague = { name: 'Ben Okoro', email: 'ben@example.org', password: 'another long password' };
const zone = owner.zone;

/** The text of a page without its marks, so that sentences can be read across them. */
export async function read(answer: Promise<Response>): Promise<string> {
  const page = await (await answer).text();
  return page
    .replace(/<head>.*?<\/head>/s, '')
    .replaceAll(/<[^>]+>/g, ' ')
    .replaceAll('&#x2F;', '/')
    .replaceAll('&#39;', "'")
    .replaceAll('&amp;', '&')
    .replaceAll(/\s+/g, ' ')
    .replaceAll(/ ([.,:;)])/g, '$1')
    .replaceAll('( ', '(');
}

/** A day as pages write it, by the formatter of the platform. */
export const inWords = (day: string) =>
  new Intl.DateTimeFormat('en-US', { dateStyle: 'medium', timeZone: 'UTC' }).format(Date.parse(day));

/** The same as documents write it. */
export const inFullWords = (day: string) =>
  new Intl.DateTimeFormat('en-US', { dateStyle: 'long', timeZone: 'UTC' }).format(Date.parse(day));

/** Two clinics: Ada's, where Ben may only read, and Eve's; it is noon of the day after today. */
export async function openRemindersClinic() {
  const { clinic, ada } = await openClinicWithPerson(settings);
  const eveLink = await linkForAnotherClinic(clinic);
  const eve = new Visitor(() => clinic.service.address);
  await eve.post(new URL(eveLink).pathname, { ...owner, email: 'eve@example.org' });
  const today = addDays(isoDayIn(Date.now(), zone), 1);
  /** Noon of the patient's next day: between two sessions, whenever the tests run. */
  const nowMs = wallClockInstant(today, '12:00', zone);
  clinic.clock.aheadMs = nowMs - Date.now();
  await ada.post('/sign-in', owner);
  const invited = await (await ada.submit('/colleagues', { role: 'read-only' })).text();
  const ben = new Visitor(() => clinic.service.address);
  await ben.post(`/${/join\/[\w-]{43}/.exec(invited.replaceAll('&#x2F;', '/'))?.[0]}`, colleague);

  async function signIn(): Promise<void> {
    await ada.post('/sign-in', owner);
    await eve.post('/sign-in', { ...owner, email: 'eve@example.org' });
    await ben.post('/sign-in', colleague);
  }
  await signIn();

  const html = async (path: string) => (await (await ada.get(path)).text()).replaceAll('&#x2F;', '/');

  /** A person who was screened; `path` is that of their page. */
  async function newPerson(more: Record<string, string> = {}): Promise<string> {
    const path = await addPerson(ada, { ...person, ...more });
    await screen(ada, path, []);
    return path;
  }

  async function newCaregiver(path: string, more: Record<string, string> = {}): Promise<string> {
    const known = new Set((await html(path)).match(/caregivers\/[\w-]{36}\/end/g));
    await ada.submit(`${path}/caregivers`, { name: 'Tom Lind', ...more });
    const added = ((await html(path)).match(/caregivers\/[\w-]{36}\/end/g) ?? []).find(
      (each) => !known.has(each),
    );
    return added?.split('/')[1] ?? expect.unreachable('no caregiver was linked');
  }

  /** Does something by a later clock, and sets it back. */
  async function dayLater<Done>(days: number, act: () => Promise<Done>): Promise<Done> {
    clinic.clock.aheadMs += days * 86_400_000;
    await signIn();
    const done = await act();
    clinic.clock.aheadMs -= days * 86_400_000;
    // What was over by the later clock has ended for good.
    await signIn();
    return done;
  }

  const agree = (path: string, kind: string, caregiverId = '') =>
    ada.submit(`${path}/consents`, { kind, caregiverId, isGiven: 'yes', onDate: today });
  const pageOf = (path: string) => read(ada.get(`${path}/reminders`));

  return { clinic, ada, ben, eve, nowMs, today, html, newPerson, newCaregiver, dayLater, agree, pageOf };
}
