import { open, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { join, relative } from 'node:path';
import express from 'express';
import { afterAll, afterEach, beforeAll, describe, expect, it, vi } from 'vitest';
import { sendFile } from '../../../src/http/server/sendFile.js';
import { promptKeys } from '../../../src/listening/plan.js';
import { damage, damages } from '../../damage.js';
import { fakeFfmpeg } from '../../ffmpeg/fakeFfmpeg.js';
import {
  addPerson,
  giveLink,
  linkForAnotherClinic,
  owner,
  person,
  screen,
  signShortProgram,
  Visitor,
} from '../../support/clinic.js';
import { formOf } from '../../support/forms.js';
import { idOf, ListeningClinic } from '../../support/listener.js';

/** A second is long enough for an encoder that does answer, also on a machine that is busy with other tests. */
const encoderTimes = { firstAnswerMs: 1_000, againAfterMs: 1_000, silentMs: 1_000, wholeMs: 60_000 };

let at: ListeningClinic;
/** A session of another clinic on the same service. */
let othersSession: string;
let feed: string;

beforeAll(async () => {
  at = await ListeningClinic.open({}, { encoderTimes });
  const link = await linkForAnotherClinic(at.clinic);
  const eve = new Visitor(() => at.clinic.service.address);
  await eve.post(new URL(link).pathname, { ...owner, email: 'eve@example.org' });
  const otto = await addPerson(eve, { ...person, name: 'Otto Fehr' });
  await screen(eve, otto, []);
  await signShortProgram(eve, otto);
  const ottosLink = (await giveLink(eve, otto)).path;
  const { session } = await at.firstSession(ottosLink);
  othersSession = `${ottosLink}${session.audio}`;
  expect((await at.guest().get(othersSession)).status).toBe(200);
  await at.ada.submit('/colleagues/contact', { phone: '0100 555 00', emergencyNumber: '112' });
  const made: { address: string } = JSON.parse(
    await (await at.guest().post(`${at.rosaLink}feed`, {})).text(),
  );
  feed = await (await at.guest().get(made.address)).text();
});
afterAll(() => at.clinic.remove());
afterEach(() => vi.unstubAllEnvs());

const shelf = () => join(at.clinic.folder, 'cache', 'sessions');
async function bytesOf(path: string, headers: Record<string, string> = {}) {
  const answer = await at.guest().get(path, headers);
  return { status: answer.status, bytes: Buffer.from(await answer.arrayBuffer()) };
}

/** The folder of the session with this sound. */
async function folderOf(sound: Buffer | undefined): Promise<string> {
  const names = await readdir(shelf(), { recursive: true });
  for (const name of names.filter((each) => each.endsWith('session.mp3'))) {
    const path = join(shelf(), name);
    if (sound?.equals(await readFile(path)) === true) return join(path, '..');
  }
  throw new Error('no such session');
}

/** The folders of made sessions and sentences in which something is not said. */
async function foldersWithout(text: string): Promise<string[]> {
  const scripts = (await readdir(shelf(), { recursive: true })).filter((name) =>
    name.endsWith('.script.json'),
  );
  const folders: string[] = [];
  for (const script of scripts) {
    const path = join(shelf(), script);
    if (!(await readFile(path, 'utf8')).includes(text)) folders.push(join(path, '..'));
  }
  return folders;
}

describe('a session that is damaged on the disk', () => {
  it('is never given to anybody: not whole, not in part, not to another player', async () => {
    const { session } = await at.firstSession(at.rosaLink);
    const inFeed = new URL(/<enclosure url="([^"]+)"/.exec(feed)?.[1] ?? '').pathname;
    const beside = (name: string) => inFeed.replace('session.mp3', name);
    const addresses = [
      { file: 'session.mp3', path: `${at.rosaLink}${session.audio}` },
      { file: 'session.mp3', path: inFeed },
      { file: 'session.script.json', path: `${at.rosaLink}${session.session}` },
      { file: 'session.script.json', path: beside('chapters.json') },
      { file: 'session.vtt', path: beside('session.vtt') },
      { file: 'session.txt', path: beside('session.txt') },
    ];
    const whole = await Promise.all(addresses.map(async ({ path }) => (await bytesOf(path)).bytes));
    const folder = await folderOf(whole[0]);
    const another = await folderOf((await bytesOf(othersSession)).bytes);
    for (const [index, { file, path }] of addresses.entries()) {
      const replacement = await readFile(join(another, file));
      for (const each of damages) {
        await damage(join(folder, file), each, replacement);
        const part = await bytesOf(path, { range: 'bytes=100-199' });
        const expected = part.status === 206 ? whole[index]?.subarray(100, 200) : whole[index];
        expect(part.bytes.equals(expected ?? Buffer.alloc(0)), `${path}, ${each.name}: a part`).toBe(true);
        await damage(join(folder, file), each, replacement);
        const all = await bytesOf(path);
        expect(all.bytes.equals(whole[index] ?? Buffer.alloc(0)), `${path}, ${each.name}`).toBe(true);
      }
    }
  });

  it('ends the connection where it becomes shorter while it is sent', async () => {
    const path = join(at.clinic.folder, 'shorter');
    await writeFile(path, 'half');
    const app = express().get('/', async (_request, response) => {
      const file = { handle: await open(path), bytes: 8, sha256: '0'.repeat(64) };
      await sendFile(response, file, { name: 'session.mp3', download: null }).catch(() => undefined);
    });
    const server = app.listen(0, '127.0.0.1');
    await new Promise((resolve) => server.once('listening', resolve));
    const address = server.address();
    const port = typeof address === 'object' && address !== null ? address.port : 0;
    const asked = fetch(`http://127.0.0.1:${port}/`).then((answer) => answer.arrayBuffer());
    await expect(asked).rejects.toThrow();
    server.close();
    await rm(path);
  });
});

describe.skipIf(process.platform === 'win32')('an encoder that hangs (needs a POSIX shell)', () => {
  it('at its first question: everybody is told so in time, and other clinics do not notice', async () => {
    const { session } = await at.firstSession(at.rosaLink);
    const whole = await bytesOf(`${at.rosaLink}${session.audio}`);
    const before = await bytesOf(othersSession);
    // What Rosa and her clinic listen to is there no more; what Otto listens to is.
    for (const folder of await foldersWithout('Otto')) await rm(folder, { recursive: true });
    const path = await fakeFfmpeg('exit 1', 'sleep 1000 & wait');
    vi.stubEnv('STILLCOUNT_FFMPEG', path);
    const order: string[] = [];
    const asked = async (who: string, answer: Promise<Response>) => {
      const got = await answer;
      const text = who === 'Otto' ? '' : (await got.text()).replaceAll('&#x2F;', '/');
      const bytes = who === 'Otto' ? Buffer.from(await got.arrayBuffer()) : Buffer.alloc(0);
      order.push(who);
      return { status: got.status, text, bytes };
    };
    const startedAt = performance.now();
    const form = await formOf(await at.ada.get(`${at.programPath}/change`));
    const inBrowser = { accept: 'text/html,application/xhtml+xml,*/*;q=0.8' };
    const told = Promise.all([
      asked('Rosa', at.guest().get(`${at.rosaLink}${session.audio}`, inBrowser)),
      asked('Rosa', at.guest().get(new URL(/<enclosure url="([^"]+)"/.exec(feed)?.[1] ?? '').pathname)),
      asked('Rosa', at.guest().get(`${at.rosaLink}${session.session}`)),
      ...promptKeys
        .slice(0, 4)
        .map((key) => asked('Rosa', at.guest().get(`${at.rosaLink}prompts/${idOf(at.rosaPath)}/${key}.mp3`))),
      asked('Ada', at.ada.post(`${at.programPath}/change`, { ...form, do: 'hear' })),
    ]);
    const other = await asked('Otto', at.guest().get(othersSession));
    expect([other.status, other.bytes.equals(before.bytes)]).toEqual([200, true]);
    expect(order, 'nobody had to be told anything before').toEqual(['Otto']);
    const answers = await told;
    expect(performance.now() - startedAt).toBeLessThan(20_000);
    expect(answers.map(({ status }) => status)).toEqual(answers.map(() => 503));
    const listeners = answers.slice(0, -1).map(({ text }) => text);
    const [opened, ...fetched] = listeners;
    expect(opened).toContain('Today’s session cannot be made right now');
    expect(opened, 'whom to call').toContain('<strong>0100 555 00</strong>');
    expect(fetched).toEqual(fetched.map(() => '{"problem":"not-made"}'));
    for (const text of listeners) expect(text).not.toMatch(/encoder|ffmpeg|STILLCOUNT_|answer within/i);
    const clinicians = answers.at(-1)?.text;
    expect(clinicians).toContain(`the encoder ${path} cannot be used`);
    expect(clinicians).toContain('did not answer within 1 s');
    expect(clinicians).toContain('STILLCOUNT_FFMPEG');
    const requestIds = at.clinic.logged.filter(
      (line) => line.includes('request-failed') && line.includes(path),
    );
    expect(requestIds.length, 'each is found again by the id of its request').toBeGreaterThan(4);
    const page = (await at.page('/')).replaceAll('&#x2F;', '/');
    expect(page).toContain('New sessions cannot be made');
    expect(page).toContain(`the encoder ${path} cannot be used`);
    expect(page).toMatch(/A page or request failed[\s\S]*reference <code>[2-9A-Z]{4}-/);
    expect(at.clinic.logged.join('\n')).toContain('"event":"no-sound-made"');
    vi.unstubAllEnvs();
    const again = await bytesOf(`${at.rosaLink}${session.audio}`);
    expect([again.status, again.bytes.equals(whole.bytes)], 'made again, to the same bytes').toEqual([
      200,
      true,
    ]);
    expect(await at.page('/')).not.toContain('New sessions cannot be made');
  });
});

describe('what the service keeps', () => {
  it('is of kinds of which each is tested damaged', async () => {
    const entries = await readdir(at.clinic.folder, { recursive: true, withFileTypes: true });
    const names = entries
      .filter((entry) => entry.isFile())
      .map((entry) => relative(at.clinic.folder, join(entry.parentPath, entry.name)).replaceAll('\\', '/'));
    const kinds = [
      /** Here, and in tests/session/sessionShelf.test.ts. */
      /^cache\/sessions\/[0-9a-f]{2}\/[0-9a-f]{64}\/session\.(mp3|vtt|script\.json|txt|sums\.json)$/,
      /** Clips, pieces of sound and read texts: tests/files/blobCache.test.ts and tests/session/sessionShelf.test.ts. */
      /^cache\/[0-9a-f]{2}\/[0-9a-f]{2}\/[0-9a-f]{60}$/,
      /** tests/store/backup.test.ts. */
      /^backups\/daily-\w+\.backup$/,
      /** On their way to one of these names, which they take when they are whole: tests/files/wholeFile.test.ts. */
      /\/\.[^/]+\.part$/,
      /** tests/store/damagedFile.test.ts, tests/clinic/prescribing/damagedRecord.test.ts; the lock holds nothing: tests/store/faults.test.ts. */
      /^clinic\.db(-wal|-shm|\.lock(-journal)?)?$/,
      /** Written anew at a start when it is not as it should be: src/http/pages/home/dataFolder.ts. */
      /^README\.txt$/,
    ];
    expect(names.filter((name) => !kinds.some((kind) => kind.test(name)))).toEqual([]);
    expect(names.length).toBeGreaterThan(20);
  });
});
