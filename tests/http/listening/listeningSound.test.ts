import { randomUUID } from 'node:crypto';
import { parseBuffer } from 'music-metadata';
import RssParser from 'rss-parser';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { PlannedSession } from '../../../src/listening/plan.js';
import { giveLink } from '../../support/clinic.js';
import { formOf } from '../../support/forms.js';
import { dayMs, idOf, ListeningClinic, placeOf } from '../../support/listener.js';

let at: ListeningClinic;

beforeAll(async () => {
  at = await ListeningClinic.open();
});
afterAll(() => at.clinic.remove());

describe('sound', () => {
  it('is given in any byte range, with a strong name of its bytes (RFC 9110, sections 13 and 14)', async () => {
    const { session } = await at.firstSession(at.rosaLink);
    const get = (headers: Record<string, string>) =>
      at.guest().get(`${at.rosaLink}${session.audio}`, headers);
    const whole = await get({});
    const bytes = new Uint8Array(await whole.arrayBuffer());
    expect(whole.headers.get('content-type')).toBe('audio/mpeg');
    expect(whole.headers.get('accept-ranges')).toBe('bytes');
    const etag = whole.headers.get('etag') ?? '';
    expect(etag).toMatch(/^"[0-9a-f]{32}"$/);
    const part = await get({ range: 'bytes=1000-1999' });
    expect(part.status).toBe(206);
    expect(part.headers.get('content-range')).toBe(`bytes 1000-1999/${bytes.length}`);
    expect(new Uint8Array(await part.arrayBuffer())).toEqual(bytes.slice(1000, 2000));
    const last = await get({ range: 'bytes=-500' });
    expect(new Uint8Array(await last.arrayBuffer())).toEqual(bytes.slice(-500));
    expect((await get({ range: `bytes=${bytes.length}-` })).status).toBe(416);
    expect((await get({ range: 'bytes=0-9', 'if-range': etag })).status).toBe(206);
    expect((await get({ range: 'bytes=0-9', 'if-range': '"another"' })).status, 'changed meanwhile').toBe(
      200,
    );
    expect(await at.statusOf(`${at.rosaLink}${session.audio}`, { 'if-none-match': etag })).toBe(304);
  });

  it('of a version that was replaced plays for a day more, and what is told of it lands on it', async () => {
    const { session: old } = await at.firstSession(at.rosaLink);
    const form = await formOf(await at.ada.get(`${at.programPath}/change`));
    const more = { 'program.exercises.0.dose.reps': '6', reason: 'One more', do: 'sign' };
    expect((await at.ada.post(`${at.programPath}/change`, { ...form, ...more })).status).toBe(303);
    const { session } = await at.firstSession(at.rosaLink);
    expect([old.versionNumber, session.versionNumber]).toEqual([1, 2]);
    const statusOf = async ({ session: path }: PlannedSession) =>
      (await at.guest().get(`${at.rosaLink}${path}`)).status;
    expect([await statusOf(old), await statusOf(session)]).toEqual([200, 200]);
    const told = {
      kind: 'step',
      id: randomUUID(),
      listeningId: randomUUID(),
      ...placeOf(old, idOf(at.rosaPath)),
      step: 'started',
      positionMs: 0,
      atMs: Date.now(),
    };
    expect(await (await at.report(at.rosaLink, [told])).json()).toEqual({ keptIds: [told.id], refused: [] });
    expect(await at.page(`${at.rosaPath}/heard`)).toContain('version 1');
    at.clinic.clock.aheadMs = dayMs + 60_000;
    expect([await statusOf(old), await statusOf(session)]).toEqual([410, 200]);
    at.clinic.clock.aheadMs = 0;
  });

  it('has figures beside it, a page that opens for whoever may play it', async () => {
    const { session } = await at.firstSession(at.rosaLink);
    const figures = await at.guest().get(`${at.rosaLink}${session.figures}`);
    expect([figures.status, figures.headers.get('content-encoding')]).toEqual([200, 'gzip']);
    expect(figures.headers.get('cache-control')).toBe('no-store');
    const page = await figures.text();
    expect(page).toContain('data-chapter="1" data-name="Ankle pumps"');
    expect(page).not.toContain(at.rosaLink.slice(3, -1));
    const plain = await at.guest().get(`${at.rosaLink}${session.figures}`, { 'accept-encoding': 'identity' });
    expect([plain.headers.get('content-encoding'), await plain.text()]).toEqual([null, page]);
    const other = (session.figures ?? '').replace(/\/\d+\/session/, '/99/session');
    expect((await at.guest().get(`${at.rosaLink}${other}`)).status).toBe(410);
  });

  it('says each sentence around a session, for this listener', async () => {
    const prompt = await at.guest().get(`${at.rosaLink}prompts/${idOf(at.rosaPath)}/welcome.mp3`);
    expect([prompt.status, prompt.headers.get('content-type')]).toEqual([200, 'audio/mpeg']);
    expect((await at.guest().get(`${at.rosaLink}prompts/${idOf(at.rosaPath)}/other.mp3`)).status).toBe(410);
    const { session } = await at.firstSession(at.rosaLink);
    const numbered = (number: number) => session.audio.replace(/\/\d+\/session/, `/${number}/session`);
    for (const number of [10, 40]) {
      const far = await at.guest().get(`${at.rosaLink}${numbered(number)}`);
      expect(far.status, `number ${number} is not made for asking`).toBe(410);
    }
    const opened = await at
      .guest()
      .get(`${at.rosaLink}${numbered(40)}`, { accept: 'text/html,application/xhtml+xml,*/*;q=0.8' });
    expect(opened.status).toBe(410);
    expect(await opened.text(), 'who opens an old address reads what to do').toContain('Back to my sessions');
    expect((await at.guest().get(`${at.rosaLink}prompts/${randomUUID()}/welcome.mp3`)).status).toBe(410);
  });
});

describe('a feed for other players', () => {
  const feedPath = async (path: string) => {
    const answer = await at.guest().post(`${path}feed`, {});
    const { address }: { address: string } = JSON.parse(await answer.text());
    return address;
  };

  it('is read by an independent parser, plays, and counts as delivered, not as done', async () => {
    const states = (await at.planOf(at.rosaLink)).people[0]?.sessions.map(({ state }) => state);
    const address = await feedPath(at.rosaLink);
    const feed = await new RssParser().parseURL(new URL(address, at.clinic.service.address).href);
    expect(feed.title).toBe('Sessions for Rosa');
    const [item] = feed.items;
    expect(item?.title).toMatch(/^Short program, \w+ \d+, \d{4}, 9:00 AM$/);
    expect(item?.enclosure?.type).toBe('audio/mpeg');
    const sound = await fetch(item?.enclosure?.url ?? '');
    const bytes = new Uint8Array(await sound.arrayBuffer());
    expect(String(bytes.length)).toBe(item?.enclosure?.length);
    const { format } = await parseBuffer(bytes, 'audio/mpeg');
    expect(format.duration).toBeGreaterThan(60);
    for (const name of ['chapters.json', 'session.vtt', 'session.txt']) {
      const file = await fetch((item?.enclosure?.url ?? '').replace('session.mp3', name));
      expect([name, file.status]).toEqual([name, 200]);
    }
    await fetch(item?.enclosure?.url ?? '', { headers: { range: 'bytes=100-' } });
    const record = await (await at.ada.get(`${at.rosaPath}/heard`)).text();
    expect(record.match(/<li>For \w+/g), 'one delivery, however often it was asked for').toHaveLength(1);
    const plan = await at.planOf(at.rosaLink);
    expect(
      plan.people[0]?.sessions.map(({ state }) => state),
      'nothing more is done',
    ).toEqual(states);
  });

  it('has one address at a time, which opens nothing else and ends with the link', async () => {
    const first = await feedPath(at.rosaLink);
    const second = await feedPath(at.rosaLink);
    expect((await at.guest().get(first)).status).toBe(404);
    expect((await at.guest().get(second)).status).toBe(200);
    const token = /\/feed\/([^.]+)/.exec(second)?.[1] ?? '';
    expect((await at.guest().get(`/l/${token}/`)).status, 'no page').toBe(404);
    expect((await at.guest().get(at.rosaLink.replace('/l/', '/feed/').replace(/\/$/, '.xml'))).status).toBe(
      404,
    );
    at.rosaLink = (await giveLink(at.ada, at.rosaPath)).path;
    expect((await at.guest().get(second)).status, 'the link was replaced').toBe(404);
  });
});
