import { readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { Sqlite } from '../../sqlite.js';
import type { Visitor } from '../../support/clinic.js';
import { formOf } from '../../support/forms.js';
import { idOf, ListeningClinic } from '../../support/listener.js';
import { read } from '../../support/remindersClinic.js';

/** A digit of a dose changes in the file of the database, past the service, as a worn-out disk changes it. */

const clinicPhone = '0100 555 00';
let at: ListeningClinic;
let ada: Visitor;
const programId = () => at.programPath.split('/')[2] ?? '';
const page = (path: string) => read(ada.get(path));

beforeAll(async () => {
  at = await ListeningClinic.open();
  ({ ada } = at);
  await ada.submit('/colleagues/contact', { phone: clinicPhone, emergencyNumber: '112' });
  const form = await formOf(await ada.get(`${at.programPath}/change`));
  const longer = { ...form, 'program.changeTimes.lyingDownSeconds': '75', reason: 'Timed', do: 'sign' };
  expect((await ada.post(`${at.programPath}/change`, longer)).status).toBe(303);
});
afterAll(() => at.clinic.remove());

/** With the service stopped; it is started again afterwards. */
async function harm(trigger: string, statement: string): Promise<void> {
  await at.clinic.service.stop();
  const database = new Sqlite(join(at.clinic.folder, 'clinic.db'));
  const { sql } = Object(database.prepare('select sql from sqlite_master where name = ?').get(trigger));
  database.exec(`drop trigger "${trigger}"`);
  const { changes } = database.prepare(statement).run();
  database.exec(sql);
  database.close();
  expect(changes).toBe(1);
  await at.clinic.restart();
}

describe('a signed version in which a digit of a dose has changed', () => {
  beforeAll(() =>
    harm(
      'prescriptionVersionNeverupdate',
      `update "prescriptionVersion" set "content" = replace("content", '"lyingDownSeconds":75', '"lyingDownSeconds":15')
       where "number" = 2`,
    ),
  );

  it('plays nothing: the listening page says that the clinic checks the program, and whom to call', async () => {
    const plan = await at.planOf(at.rosaLink);
    expect(plan.people[0]).toMatchObject({ isBeingChecked: true, sessions: [] });
    const listening = await read(at.guest().get(at.rosaLink));
    expect(listening).toContain('Quillmere is checking the program.');
    expect(listening).toContain(clinicPhone);
    for (const version of [2, 1]) {
      const address = `${at.rosaLink}sessions/${programId()}/${version}/1/session.mp3`;
      expect((await at.guest().get(address)).status, `version ${version}`).toBe(410);
    }
    const said = await at.guest().get(`${at.rosaLink}prompts/${idOf(at.rosaPath)}/welcome.mp3`);
    expect(said.status, 'what is to be heard in need').toBe(200);
  });

  it('stands on the first page with what to do, in the log without a name, and is shown nowhere', async () => {
    const wrong = 'version 2 is damaged: what is stored is not what was signed';
    await expect.poll(() => page('/'), { timeout: 60_000 }).toContain(wrong);
    await expect.poll(() => page('/')).toContain('Something that a clinician signed or recorded is damaged');
    const program = await page(at.programPath);
    expect(program).toContain(wrong);
    expect(program).toContain('sign a new version, or have a backup restored');
    expect(program).toContain('This version is damaged');
    expect(program, 'neither the dose that was signed nor the other').not.toMatch(/1 min 15 s|15 s/);
    const lines = at.clinic.logged.filter((line) => line.includes('damaged-record'));
    expect(lines.length).toBeGreaterThan(0);
    for (const line of lines) expect(line).not.toMatch(/Rosa|Lind|Ada/);
  });

  it('is neither printed, reminded of, advised on nor given out, and every page opens', async () => {
    const handout = await ada.get(`${at.rosaPath}/papers/handout?program=${programId()}`);
    expect([handout.status, await read(Promise.resolve(handout))]).toEqual([
      400,
      expect.stringContaining('version 2 is damaged'),
    ]);
    expect(await page(`${at.rosaPath}/reminders`)).toContain(
      'Nothing is sent for a program that cannot be played as it was signed.',
    );
    const others = ['heard', 'follow-up', 'advice', 'papers', 'measures', 'record', 'record/bundle.json'];
    const files = ['record/all.zip', 'record/csv/versions', 'record/csv/doses'];
    for (const path of [...others, ...files].map((name) => `${at.rosaPath}/${name}`))
      expect((await ada.get(path)).status, path).toBe(200);
    expect((await ada.get('/clinic-view')).status).toBe(200);
    const versions = await (await ada.get(`${at.rosaPath}/record/csv/versions`)).text();
    expect(versions.split('\r\n')[2]).toContain('","2","yes","",');
    expect(versions).not.toContain('lyingDownSeconds"":15');
    const bundle = await (await ada.get(`${at.rosaPath}/record/bundle.json`)).text();
    expect(JSON.parse(bundle).entry).toContainEqual(
      expect.objectContaining({
        resource: expect.objectContaining({ resourceType: 'CarePlan', status: 'unknown' }),
      }),
    );
  });

  it('is signed anew on top, from the last version that is whole, and plays again', async () => {
    const change = await page(`${at.programPath}/change`);
    expect(change).toContain('Version 2 is damaged: what is stored is not what was signed.');
    expect(change).toContain('The last undamaged version is version 1.');
    const form = await formOf(await ada.get(`${at.programPath}/change`));
    expect(form).toMatchObject({ basedOn: '2', 'program.changeTimes.lyingDownSeconds': '40' });
    const signed = { ...form, reason: 'Signed anew', do: 'sign' };
    expect((await ada.post(`${at.programPath}/change`, signed)).status).toBe(303);
    expect(await page('/')).not.toContain('Program cannot be played');
    const [person] = (await at.planOf(at.rosaLink)).people;
    expect(person?.sessions[0]).toMatchObject({ versionNumber: 3 });
  });
});

describe('an interview in which an answer has changed', () => {
  it('is not used: nothing is signed before the patient is screened again', async () => {
    await harm('screeningNeverupdate', `update "screening" set "answers" = replace("answers", 'no', 'on')`);
    await expect.poll(() => page('/'), { timeout: 60_000 }).toContain('The last screening is damaged');
    expect(await page(at.rosaPath)).toContain(
      'The last screening is damaged: the stored answers are not the ones recorded.',
    );
    const form = await formOf(await ada.get(`${at.programPath}/change`));
    const refused = await ada.post(`${at.programPath}/change`, { ...form, reason: 'More', do: 'sign' });
    expect(refused.status).toBe(400);
    expect(await read(Promise.resolve(refused))).toContain('this patient has not been screened yet');
    expect((await ada.get(`${at.rosaPath}/record/csv/screenings`)).status).toBe(200);
  });
});

describe('a power cut while something was saved', () => {
  it('is told once, as what it is, with what to look at', async () => {
    const file = join(at.clinic.folder, 'clinic.db');
    await at.clinic.restart();
    await ada.submit('/colleagues/contact', { phone: '0100 555 01', emergencyNumber: '112' });
    const left = await readFile(file);
    const log = await readFile(`${file}-wal`);
    await at.clinic.service.stop();
    await writeFile(file, left);
    // The last page that was written did not reach the disk.
    await writeFile(`${file}-wal`, log.fill(0, log.length - 4_096));
    const before = at.clinic.logged.length;
    await at.clinic.restart();
    const lines = at.clinic.logged.slice(before).filter((line) => line.includes('while it saved'));
    expect(lines).toEqual([expect.stringContaining('"code":"last-change"')]);
    const first = await page('/');
    expect(first).toContain('the last change may be missing');
    expect(first).toContain('Check what was signed, screened, and reported last');
  });
});

describe('a program whose versions are gone', () => {
  it('is begun anew by nobody', async () => {
    await at.clinic.service.stop();
    const database = new Sqlite(join(at.clinic.folder, 'clinic.db'));
    database.exec('pragma foreign_keys = off');
    const trigger = 'prescriptionVersionNeverdelete';
    const { sql } = Object(database.prepare('select sql from sqlite_master where name = ?').get(trigger));
    database.exec(`drop trigger "${trigger}"`);
    database.exec('delete from "prescriptionVersion"');
    database.exec(sql);
    database.close();
    await at.clinic.restart();
    const change = await ada.get(`${at.programPath}/change`);
    expect(change.status).toBe(400);
    expect(await read(Promise.resolve(change))).not.toContain('Home program');
  });
});
