import { randomUUID } from 'node:crypto';
import { parseBuffer } from 'music-metadata';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { replaceWithEasier } from '../../../src/listening/easierSession.js';
import type { PlannedSession, PlayedSession } from '../../../src/listening/plan.js';
import { signShortProgram } from '../../support/clinic.js';
import { formOf } from '../../support/forms.js';
import { idOf, ListeningClinic, placeOf } from '../../support/listener.js';

/** About seven minutes with lying down, and less than five with the fewest repetitions that the exercise allows. */
const program = { 'program.exercises.0.dose.reps': '20' };
const easier = { 'easier.shorterMinutes': '5', 'easier.lighter': 'yes' };

let at: ListeningClinic;
let session: PlannedSession;

beforeAll(async () => {
  at = await ListeningClinic.open({ ...program, ...easier });
  ({ session } = await at.firstSession(at.rosaLink));
});
afterAll(() => at.clinic.remove());

const text = async (path: string) => (await at.page(path)).replaceAll(/<[^>]+>/g, '').replaceAll(/\s+/g, ' ');
const statusOf = async (path: string) => (await at.guest().get(`${at.rosaLink}${path}`)).status;

async function heard({ audio, session: about }: PlannedSession) {
  const sound = await at.guest().get(`${at.rosaLink}${audio}`);
  const { format } = await parseBuffer(new Uint8Array(await sound.arrayBuffer()), 'audio/mpeg');
  const played: PlayedSession = JSON.parse(await (await at.guest().get(`${at.rosaLink}${about}`)).text());
  expect(format.duration, 'sound and chapters are of one session').toBeCloseTo(played.durationMs / 1000, 0);
  return played.durationMs;
}

describe('an easier session', () => {
  it('is prescribed: shown in the form, on the page, and refused where the limits allow none so short', async () => {
    const form = await formOf(await at.ada.get(`${at.programPath}/change`));
    expect(form).toMatchObject(easier);
    expect(await text(at.programPath)).toContain(
      'Easier options on a hard day: a shorter session of about 5 minutes, or a lighter session ' +
        'with about half the repetitions and shorter holds.',
    );
    const rest = { 'program.exercises.1.exercise': 'rest-arms-open' };
    await expect(signShortProgram(at.ada, at.rosaPath, { ...rest, ...easier })).rejects.toThrow(
      'Shorter session</strong>: the session cannot be made this short within the limits of its exercises',
    );
    const tooShort = { ...easier, 'easier.shorterMinutes': '2' };
    await expect(signShortProgram(at.ada, at.rosaPath, tooShort)).rejects.toThrow('Shorter session</strong>');
  });

  it('is offered beside the whole one, and its sound is shorter', async () => {
    const [shorter, lighter] = session.easier ?? [];
    expect([shorter?.choice, lighter?.choice]).toEqual(['shorter', 'lighter']);
    if (shorter === undefined || lighter === undefined) return;
    expect(shorter.minutes).toBeLessThan(session.minutes);
    const wholeMs = await heard(session);
    expect(await heard(replaceWithEasier(session, shorter))).toBeLessThanOrEqual(5 * 60_000);
    const lighterMs = await heard(replaceWithEasier(session, lighter));
    // Ten repetitions of nine seconds each are left out.
    expect(wholeMs - lighterMs).toBeGreaterThan(80_000);
    for (const address of ['words', 'figures'] as const)
      expect(await statusOf(replaceWithEasier(session, lighter)[address] ?? ''), address).toBe(200);
  });

  it('that there is not, or is not allowed by the version, is gone like any other', async () => {
    for (const choice of ['easier', 'shorter-lighter', '1'])
      expect(await statusOf(session.audio.replace('/session', `-${choice}/session`)), choice).toBe(410);
    const { 'easier.lighter': _lighter, ...form } = await formOf(
      await at.ada.get(`${at.programPath}/change`),
    );
    const next = { ...form, 'easier.shorterMinutes': '5', reason: 'Not lighter', do: 'sign' };
    expect((await at.ada.post(`${at.programPath}/change`, next)).status).toBe(303);
    expect(await text(at.programPath)).toContain('On a hard day: lighter session no (was yes)');
    const { session: now } = await at.firstSession(at.rosaLink);
    expect(now.easier?.map(({ choice }) => choice)).toEqual(['shorter']);
    expect(await statusOf(now.session.replace('/session', '-lighter/session')), 'the new version').toBe(410);
    expect(await statusOf(session.session.replace('/session', '-lighter/session')), 'begun before').toBe(200);
  });

  it('counts as done by its own length, and is shown as what it was', async () => {
    const { session: now } = await at.firstSession(at.rosaLink);
    const [shorter] = now.easier ?? [];
    if (shorter === undefined) throw new Error('nothing easier is offered');
    const lengthMs = await heard(replaceWithEasier(now, shorter));
    const [listeningId, sentAtMs] = [randomUUID(), Date.now()];
    const about = { listeningId, ...placeOf(now, idOf(at.rosaPath)), choice: 'shorter' };
    const step = (name: string, positionMs: number) => ({
      ...{ kind: 'step', id: randomUUID(), ...about, step: name, positionMs },
      atMs: sentAtMs - lengthMs + positionMs,
    });
    const stateNow = async () =>
      (await at.planOf(at.rosaLink)).people[0]?.sessions.find(({ slot }) => slot === now.slot)?.state;
    await at.report(at.rosaLink, [step('started', 0), step('reached', Math.round(0.8 * lengthMs))], sentAtMs);
    expect(await stateNow()).toBe('begun');
    const items = [step('reached', Math.round(0.95 * lengthMs))];
    const checkIn = {
      kind: 'check-in',
      id: randomUUID(),
      ...about,
      answers: { done: 'all' },
      atMs: sentAtMs,
    };
    expect((await at.report(at.rosaLink, [...items, checkIn], sentAtMs)).status).toBe(200);
    expect(await stateNow(), 'not to its end, but nine tenths of it').toBe('done');
    expect(await text(`${at.rosaPath}/heard`)).toContain('Short program, the shorter one: heard');
    const unheard = { ...checkIn, id: randomUUID(), listeningId: randomUUID(), choice: 'lighter' };
    expect(await (await at.report(at.rosaLink, [unheard], sentAtMs)).json()).toMatchObject({ refused: [] });
    expect(await text(`${at.rosaPath}/heard`)).toMatch(/\d:\d\d [AP]M, the lighter one/);
  });
});
