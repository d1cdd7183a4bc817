import { createHash, randomUUID } from 'node:crypto';
import { mkdir, readdir, readFile, stat, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { parse } from 'csv-parse/sync';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { fromBuffer } from 'yauzl';
import { z } from 'zod';
import { uuidOf } from '../../../src/clinic/records/fhirRecord.js';
import {
  addPerson,
  linkForAnotherClinic,
  owner,
  person,
  signShortProgram,
  Visitor,
} from '../../support/clinic.js';
import { idOf, ListeningClinic, placeOf } from '../../support/listener.js';
import { lendSpoken } from '../../support/spokenCache.js';

const { Fhir } = createRequire(import.meta.url)('fhir') as typeof import('fhir');

let at: ListeningClinic;
let record: string;
const note = '=HYPERLINK("http://example.org") "wörtlich"';

beforeAll(async () => {
  at = await ListeningClinic.open();
  // It is looked for what lies there, and must all be its own.
  lendSpoken(at.clinic.folder);
  record = `${at.rosaPath}/record`;
  await at.ada.submit(`${at.rosaPath}/caregivers`, { name: 'Tom Lind', relation: 'son', phone: '1' });
  const { session } = await at.firstSession(at.rosaLink);
  const told = { ...placeOf(session, idOf(at.rosaPath)), atMs: Date.now() };
  const listeningId = randomUUID();
  const step = { kind: 'step', listeningId, ...told };
  const answers = { done: 'all', painBefore: 3, painAfter: null, note };
  const items = [
    { ...step, id: randomUUID(), step: 'started', positionMs: 0 },
    { ...step, id: randomUUID(), step: 'finished', positionMs: 150_000 },
    { kind: 'check-in', id: randomUUID(), listeningId, ...told, answers },
  ];
  const kept = z
    .object({ keptIds: z.array(z.string()) })
    .parse(await (await at.report(at.rosaLink, items)).json());
  expect(kept.keptIds).toHaveLength(3);
});
afterAll(() => at.clinic.remove());

/** Opens an archive with a reader that did not write it. */
function unzipped(bytes: Buffer): Promise<Map<string, string>> {
  return new Promise((resolve, reject) => {
    fromBuffer(bytes, { lazyEntries: true }, (error, zip) => {
      if (error !== null) return reject(error);
      const files = new Map<string, string>();
      zip.on('error', reject);
      zip.on('end', () => resolve(files));
      zip.on('entry', (entry) => {
        zip.openReadStream(entry, (failure, stream) => {
          if (failure !== null) return reject(failure);
          const parts: Buffer[] = [];
          stream.on('error', reject);
          stream.on('data', (part: Buffer) => parts.push(part));
          stream.on('end', () => {
            files.set(entry.fileName, Buffer.concat(parts).toString('utf8'));
            zip.readEntry();
          });
        });
      });
      zip.readEntry();
    });
  });
}

const rowsOf = (text: string | undefined): Record<string, string>[] =>
  parse(text ?? '', { bom: true, columns: true, record_delimiter: '\r\n' });

const fileOf = async (path: string) => {
  const response = await at.ada.get(path);
  expect(response.status, path).toBe(200);
  return { response, bytes: Buffer.from(await response.arrayBuffer()) };
};

describe('a whole record', () => {
  it('is given out as one archive, in which everything stands as it was told', async () => {
    const { response, bytes } = await fileOf(`${record}/all.zip`);
    expect(response.headers.get('content-type')).toBe('application/zip');
    const disposition = response.headers.get('content-disposition') ?? '';
    expect(disposition, 'no name in the name of the file').toMatch(
      /^attachment; filename=record-\d{4}-\d\d-\d\d\.zip$/,
    );
    const files = await unzipped(bytes);
    expect(files.get('README.txt')).toContain('Record of Rosa Lind at Quillmere');
    const tables = [...files.keys()].filter((name) => name.startsWith('csv/'));
    for (const table of tables) expect(files.get('README.txt')).toContain(table.replace('csv/', ''));
    const [checkIn, another] = rowsOf(files.get('csv/check-ins.csv'));
    expect([checkIn?.done, checkIn?.painBefore, checkIn?.painAfter, checkIn?.effort, another]).toEqual([
      'all',
      '3',
      'skipped',
      '',
      undefined,
    ]);
    expect(checkIn?.note, 'no formula').toBe(`'${note}`);
    expect(rowsOf(files.get('csv/patient.csv'))).toMatchObject([{ name: 'Rosa Lind', zone: person.zone }]);
    expect(rowsOf(files.get('csv/caregivers.csv'))).toMatchObject([{ name: 'Tom Lind', relation: 'son' }]);
    expect(rowsOf(files.get('csv/versions.csv'))).toMatchObject([{ version: '1', reason: 'A short start' }]);
    expect(rowsOf(files.get('csv/doses.csv'))).toMatchObject([{ exerciseId: 'ankle-pumps', reps: '5' }]);
    expect(
      rowsOf(files.get('csv/steps.csv'))
        .map(({ step }) => step)
        .sort(),
    ).toEqual(['finished', 'started']);
    expect(rowsOf(files.get('csv/sessions.csv')).map(({ outcome }) => outcome)).toContain('done');
    expect(rowsOf(files.get('csv/trail.csv')).map(({ action }) => action)).toContain('record-exported');
    const all = [...files.values()].join('\n');
    const token = at.rosaLink.split('/')[2] ?? '';
    for (const secret of [token, 'argon2', owner.password]) expect(all).not.toContain(secret);
  });

  it('is valid FHIR R4 for an independent validator, and every reference leads to something in it', async () => {
    const { response, bytes } = await fileOf(`${record}/bundle.json`);
    expect(response.headers.get('content-type')).toContain('application/fhir+json');
    const text = bytes.toString();
    const { valid, messages } = new Fhir().validate(JSON.parse(text), { errorOnUnexpected: true });
    expect(valid, JSON.stringify(messages.slice(0, 5))).toBe(true);
    const named = [...text.matchAll(/"fullUrl": "([^"]+)"/g)].map(([, url]) => url);
    const meant = [...text.matchAll(/"reference": "([^"]+)"/g)].map(([, url]) => url);
    expect(meant.length).toBeGreaterThan(10);
    expect(meant.filter((url) => !named.includes(url))).toEqual([]);
    expect(text).toContain('"text": "Ankle pumps"');
    // RFC 9562, appendix A.4: www.example.com in the namespace of domain names.
    const domains = Buffer.from('6ba7b8109dad11d180b400c04fd430c8', 'hex');
    expect(uuidOf('www.example.com', domains)).toBe('2ed6657d-e927-568b-95e1-2665a8aea6a2');
  });

  it('is on a page with each of its tables', async () => {
    const page = (await at.page(record)).replaceAll('&#x2F;', '/');
    expect(page).toMatch(/Answers after sessions<\/th><td>1</);
    const tables = [...page.matchAll(/record\/csv\/([\w-]+)"/g)].map(([, name]) => name ?? '');
    const { bytes } = await fileOf(`${record}/all.zip`);
    const names = [...(await unzipped(bytes)).keys()].filter((name) => name.startsWith('csv/'));
    expect(tables.map((name) => `csv/${name}.csv`).sort()).toEqual(names.sort());
    const { bytes: one } = await fileOf(`${record}/csv/check-ins`);
    expect(rowsOf(one.toString())).toHaveLength(1);
    expect((await at.ada.get(`${record}/csv/secrets`)).status).toBe(404);
  });

  it('is given to nobody of another clinic, and erased by nobody but an owner', async () => {
    const invited = await (await at.ada.submit('/colleagues', { role: 'clinician' })).text();
    const ben = at.guest();
    const colleague = { name: 'Ben Okoro', email: 'ben@example.org', password: 'another long password' };
    await ben.post(`/${/join\/[\w-]{43}/.exec(invited.replaceAll('&#x2F;', '/'))?.[0]}`, colleague);
    await ben.post('/sign-in', colleague);
    expect((await ben.get(`${record}/all.zip`)).status).toBe(200);
    expect(await (await ben.get(record)).text()).not.toContain('Erase');
    expect((await ben.get(`${record}/erase`)).status).toBe(403);
    expect((await ben.submit(`${record}/erase`, { name: person.name, why: 'asked-for' })).status).toBe(403);
    expect((await ben.get('/erasures')).status).toBe(403);
    const link = await linkForAnotherClinic(at.clinic);
    const eve = new Visitor(() => at.clinic.service.address);
    await eve.post(new URL(link).pathname, { ...owner, email: 'eve@example.org' });
    for (const path of [record, `${record}/all.zip`, `${record}/bundle.json`, `${record}/erase`]) {
      expect((await eve.get(path)).status, path).toBe(404);
    }
    expect((await eve.submit(`${record}/erase`, { name: person.name, why: 'asked-for' })).status).toBe(404);
    expect((await at.ada.get(record)).status, 'it is there still').toBe(200);
  });
});

/** Every file below a folder of what was made, with when it was written. */
async function madeFiles(folder: string): Promise<{ path: string; text: string; writtenMs: number }[]> {
  const entries = await readdir(join(at.clinic.folder, 'cache', folder), {
    recursive: true,
    withFileTypes: true,
  });
  const paths = entries
    .filter((entry) => entry.isFile())
    .map(({ parentPath, name }) => join(parentPath, name));
  const files = await Promise.all(
    paths.map(async (path) => {
      // What is being written has another name until it is whole.
      const text = await readFile(path, 'latin1').catch(() => null);
      const written = await stat(path).catch(() => null);
      return text === null || written === null ? [] : [{ path, text, writtenMs: written.mtimeMs }];
    }),
  );
  return files.flat();
}

/** Those of them in which her name stands. */
async function withHerName(folder: string): Promise<string[]> {
  return (await madeFiles(folder)).map(({ text }) => text).filter((text) => text.includes('Rosa'));
}

describe('a record that is erased', () => {
  it('waits for its warning signs to be answered, and for the right name', async () => {
    const { session } = await at.firstSession(at.rosaLink);
    const told = { ...placeOf(session, idOf(at.rosaPath)), atMs: Date.now() };
    const warning = { kind: 'warning', id: randomUUID(), listeningId: null, ...told, positionMs: null };
    await at.report(at.rosaLink, [{ ...warning, signs: ['chest-pain'] }]);
    const erasing = { name: 'Rosa  Lind', why: 'asked-for' };
    const refused = await at.ada.submit(`${record}/erase`, erasing);
    expect([refused.status, await refused.text()]).toEqual([
      400,
      expect.stringContaining('has not been answered'),
    ]);
    const answer = { note: 'Called: all is well', seenUpToMs: String(Date.now() + 1_000) };
    expect((await at.ada.submit(`${at.rosaPath}/warnings`, answer)).status).toBe(303);
    const mistyped = await at.ada.submit(`${record}/erase`, { ...erasing, name: 'Rosa' });
    const page = await mistyped.text();
    expect([mistyped.status, page]).toEqual([400, expect.stringContaining('this is not the name')]);
    expect(page, 'what was typed comes back').toContain('value="Rosa"');
    expect(page).toContain('value="asked-for" selected');
    const without = await at.ada.submit(`${record}/erase`, { name: person.name, why: '' });
    expect([without.status, await without.text()]).toEqual([400, expect.stringContaining('choose one')]);
  });

  it('is gone from every page, every link and every made session, and nobody else’s is', async () => {
    const otto = await addPerson(at.ada, { ...person, name: 'Otto Fehr' });
    const { session } = await at.firstSession(at.rosaLink);
    expect((await at.guest().get(`${at.rosaLink}${session.audio}`)).status).toBe(200);
    expect(await withHerName('sessions'), 'her name was spoken').not.toEqual([]);
    // Made for somebody whose name only begins like hers.
    const others = join(at.clinic.folder, 'cache', 'sessions', 'ab', 'another');
    const script = '{"cues":[{"text":"Hello, Rosalinde."}]}';
    await mkdir(others, { recursive: true });
    await writeFile(join(others, 'session.script.json'), script);
    const sum = { bytes: script.length, sha256: createHash('sha256').update(script).digest('hex') };
    const names = ['session.mp3', 'session.vtt', 'session.script.json', 'session.txt'];
    const files = Object.fromEntries(names.map((name) => [name, sum]));
    const sums = { format: 'stillcount-sums/1', key: 'another', files };
    await writeFile(join(others, 'session.sums.json'), JSON.stringify(sums));
    const pieces = async () => (await madeFiles('')).filter(({ path }) => !path.includes('sessions'));
    expect((await pieces()).length, 'clips and pieces of sound').toBeGreaterThan(10);
    const erasedFromMs = Date.now();
    const erased = await at.ada.submit(`${record}/erase`, { name: 'Rosa  Lind', why: 'asked-for' });
    expect([erased.status, erased.headers.get('location')]).toEqual([303, '/erasures']);
    expect(await withHerName('sessions')).toEqual([script]);
    const list = await at.page('/erasures');
    expect(list).toContain(idOf(at.rosaPath));
    expect(list).toContain('The patient asked for it');
    for (const path of [at.rosaPath, record, `${at.rosaPath}/heard`, at.programPath]) {
      expect((await at.ada.get(path)).status, path).toBe(404);
    }
    const answerOf = async (link: string) => {
      const page = await at.guest().get(link);
      const plan = await at.guest().get(`${link}plan.json`);
      return [page.status, await page.text(), plan.status, await plan.text()];
    };
    const neverGiven = `/l/${'A'.repeat(43)}/`;
    expect(await answerOf(at.rosaLink), 'as one that never was').toEqual(await answerOf(neverGiven));
    expect((await at.report(at.rosaLink, [{}])).status).toBe(404);
    expect((await at.ada.get(otto)).status).toBe(200);
    expect((await at.ada.submit(`${record}/erase`, { name: 'Rosa Lind', why: 'other' })).status).toBe(404);
    const trail = await at.page('/records');
    expect(trail).toContain('Record erased');
    expect(trail).not.toContain('Rosa');
    expect(await at.page('/')).not.toContain('Rosa');
    expect(at.clinic.logged.join('\n')).not.toMatch(/Rosa|Lind/);
    await expect(signShortProgram(at.ada, at.rosaPath)).rejects.toThrow('not signed');
    await at.clinic.restart();
    expect(await withHerName(''), 'nothing is left of what was being made').toEqual([script]);
    // Whole sessions without her name stay; a clip, or a piece of sound, does not say whose it is.
    expect(
      (await pieces()).filter(({ writtenMs }) => writtenMs < erasedFromMs).map(({ path }) => path),
    ).toEqual([]);
  });
});
