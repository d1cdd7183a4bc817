import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { screeningAnswersSchema } from '../../../src/screening/answers.js';
import { openStore } from '../../../src/store/engine/openStore.js';
import { newestScreening } from '../../../src/store/people/chart.js';
import { addScreening } from '../../../src/store/screening/screenings.js';
import {
  openClinicWithPerson,
  owner,
  signShortProgram,
  type TestClinic,
  type Visitor,
} from '../../support/clinic.js';

let clinic: TestClinic;
let ada: Visitor;
let path: string;
let program: string;

const text = async (response: Response) => (await response.text()).replaceAll('&#39;', '’');
const line = async () =>
  /<strong>Rosa Lind<\/strong>: ([^<]+)/.exec(await text(await ada.get('/')))?.[1]?.trim();

/** The answers as an earlier release took them down, which asked less, and about the calf alone. */
async function takenByAnEarlierRelease(without: readonly string[]): Promise<void> {
  await clinic.service.stop();
  const store = await openStore({ kind: 'sqlite', file: join(clinic.folder, 'clinic.db') });
  const patientId = path.split('/')[2] ?? '';
  await store.write(async (db) => {
    const newest = await newestScreening(db, patientId);
    const all = screeningAnswersSchema.parse(JSON.parse(newest?.answers ?? '{}'));
    const fewer = Object.entries(all).filter(([id]) => !without.includes(id));
    const old = { 'neck-symptoms': { answer: 'yes' as const, details: 'sore', asked: 'Neck symptoms' } };
    const { id: clinicianId } = await db.selectFrom('clinician').select('id').executeTakeFirstOrThrow();
    const narrower = { 'calf-signs': { answer: 'no' as const, details: '', asked: 'Swollen calf' } };
    const answers = JSON.stringify({ ...Object.fromEntries(fewer), ...old, ...narrower });
    await addScreening(db, { patientId, answers, stops: false, clinicianId, nowMs: Date.now() });
  });
  await store.close();
  await clinic.restart();
}

async function later(days: number): Promise<void> {
  clinic.clock.aheadMs += days * 86_400_000;
  await ada.post('/sign-in', { email: owner.email, password: owner.password });
}

async function answer(scope: string): Promise<string[]> {
  const asked: string[] = [];
  let at = (await ada.get(`${path}/screening/${scope}`)).headers.get('location') ?? '';
  while (at.startsWith(`${path}/screening/${scope}/`)) {
    const page = await text(await ada.get(at));
    const ids = [...page.matchAll(/name="answers\.([\w-]+)\.details"/g)].map(([, id]) => id ?? '');
    asked.push(...ids);
    const answers = Object.fromEntries(ids.map((id) => [`answers.${id}.answer`, 'no']));
    at = (await ada.submit(at, answers)).headers.get('location') ?? '';
  }
  expect(at).toBe(path);
  return asked;
}

beforeAll(async () => {
  ({ clinic, ada, patientPath: path } = await openClinicWithPerson());
  program = await signShortProgram(ada, path);
  await takenByAnEarlierRelease(['cord-hands', 'clot', 'leaking']);
});
afterAll(() => clinic.remove());

describe('an interview from before there were new questions', () => {
  it('puts an active program on the first page, and stands against signing', async () => {
    await expect
      .poll(line, { timeout: 60_000 })
      .toBe('Urgent screening questions never asked; the program is active');
    const page = await text(await ada.get(path));
    expect(page).toMatch(/New questions since the screening of [^<]*: 4\./);
    expect(page).toContain('Of these, 3 cannot wait');
    expect(page).toContain('Neck symptoms');
    const home = await text(await ada.get('/'));
    expect(home.replaceAll('&#x2F;', '/')).toContain(`${path}/screening/urgent`);
    await ada.submit(`${program}/state`, { state: 'paused', reason: 'To be asked' });
    expect(await line(), 'what is paused can wait').toBe('Program paused');
    const resumed = await ada.submit(`${program}/state`, { state: 'active', reason: 'Goes on' });
    expect(resumed.status).toBe(400);
    expect(await text(resumed)).toContain('re-screen this patient first');
  });

  it('asks by itself for what cannot wait, and shows what was answered without ticking it', async () => {
    const page = await text(await ada.get(`${path}/screening/urgent/right-now`));
    expect(page.match(/<fieldset/g)).toHaveLength(2);
    expect(page).toContain('Answered in the last screening');
    expect(page).toContain('<strong>Chest pain, or pain when hurrying, in the last seven days</strong>: No');
    expect(page, 'as it was asked').toContain('<strong>Swollen calf</strong>: No');
    expect(page).toContain('Last time, asked as “Swollen calf”: No');
    expect(page.match(/asked as/g), 'what reads as it did says only the answer').toHaveLength(1);
    expect(page).not.toContain('checked');
    expect(await answer('urgent')).toEqual(['cord-hands', 'calf-signs', 'clot']);
    expect(await text(await ada.get(path))).toMatch(/New questions since the screening of [^<]*: 1\./);
  });

  it('is complete once the rest is answered, and as old as its oldest answer', async () => {
    await later(60);
    expect(await answer('new')).toEqual(['leaking']);
    const page = await text(await ada.get(path));
    expect(page).not.toContain('New questions since');
    expect(page, 'what is no longer asked is not lost').toContain('Neck symptoms');
    const again = await ada.submit(`${path}/screening/new/review`, {});
    expect(again.status, 'nothing is left to ask').toBe(400);
    expect(await text(again)).toContain('no question was asked');
    const resumed = await ada.submit(`${program}/state`, { state: 'active', reason: 'Asked' });
    expect(resumed.status).toBe(303);
    await later(31);
    const late = await ada.submit(`${path}/screening/new/review`, {});
    expect(late.status).toBe(400);
    expect(await text(late)).toContain('too old to add to');
  });
});
