import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { resolveEntry } from '../../../src/clinic/listening/listener.js';
import { planFor } from '../../../src/clinic/listening/planFor.js';
import { promptFor } from '../../../src/clinic/listening/prompts.js';
import { playableProgram } from '../../../src/clinic/listening/sessions.js';
import { hashToken } from '../../../src/clinic/tokens.js';
import { openWarningSince } from '../../../src/store/attention/patientChanged.js';
import { addToken, linkOfCode, makeLink } from '../../../src/store/listening/listeningLinks.js';
import { addCaregiver, recordConsent } from '../../../src/store/people/caregivers.js';
import { acting } from '../acting.js';
import { type DirectClinic, dayMs, openDirectClinic } from '../directClinic.js';

/** What stands before each colon is the rule’s id in the safety case. */
let at: DirectClinic;
beforeAll(async () => {
  at = await openDirectClinic();
});
afterAll(() => at.remove());
const { turn, screened } = acting(() => at);

describe('a link', () => {
  it('PERM-4: opens its pages to its end and not a millisecond longer', async () => {
    const patient = await screened();
    const token = 't'.repeat(43);
    const expiresAtMs = at.now() + dayMs;
    const rest = { clinicId: at.clinicId, clinicianId: at.clinicianId, nowMs: at.now(), pinHash: null };
    await at.store.write((db) =>
      makeLink(db, {
        ...{ ...rest, owner: { patientId: patient.id }, tokenHash: hashToken(token) },
        ...{ codeHash: 'code of a link that runs out', expiresAtMs },
      }),
    );
    const byCode = (nowMs: number) =>
      at.store.read((db) => linkOfCode(db, 'code of a link that runs out', nowMs));
    expect(await byCode(expiresAtMs - 1)).not.toBeNull();
    expect(await byCode(expiresAtMs)).toBeNull();
    const kindAt = async (nowMs: number) =>
      (await resolveEntry({ ...at.service, now: () => nowMs }, { token, givenPin: null })).kind;
    expect([await kindAt(expiresAtMs - 1), await kindAt(expiresAtMs)]).toEqual(['open', 'dead']);
  });

  it('PERM-5: is given sound and sentences of its own patients alone', async () => {
    const [rosa, emil] = [await screened(), await screened()];
    const [, emils] = [await at.prescribe(rosa), await at.prescribe(emil)];
    const listener = await at.listenerOf(rosa);
    expect(await promptFor(at.service, listener, { patientId: emil.id, key: 'go-on-before' })).toBeNull();
    const own = { clinicId: at.clinicId, patientIds: [rosa.id] };
    const place = { prescriptionId: emils, versionNumber: 1, sessionNumber: 1 };
    expect(await playableProgram(at.service, own, place)).toBeNull();
    const answer = await at.report(listener, [
      { kind: 'warning', ...at.about(emil, emils), signs: ['faint'], positionMs: null },
    ]);
    expect(answer, 'left for the link that it belongs to').toEqual({ keptIds: [], refused: [] });
    expect(await at.store.read((db) => openWarningSince(db, emil.id))).toBeNull();
  });

  it('PERM-5: plays what runs, a replaced version for a day, and a few sessions ahead', async () => {
    const patient = await screened();
    const id = await at.prescribe(patient);
    const plays = (sessionNumber: number, versionNumber = 1, nowMs = at.now()) =>
      playableProgram(
        { ...at.service, now: () => nowMs },
        { clinicId: at.clinicId, patientIds: [patient.id] },
        { prescriptionId: id, versionNumber, sessionNumber },
      ).then((found) => found !== null);
    // Three days ahead with three sessions each, but for the first.
    expect([await plays(1 + 8), await plays(1 + 9)]).toEqual([true, false]);
    const next = at.workOn(patient, at.contentOf({ title: 'Next' }), { prescriptionId: id, basedOn: 1 });
    await at.signWork(next);
    const signedMs = at.now();
    expect(await plays(1, 1, signedMs + dayMs - 1), 'for less than a day').toBe(true);
    expect(await plays(1, 1, signedMs + dayMs)).toBe(false);
    expect(await plays(1, 2, signedMs + dayMs), 'the one that holds').toBe(true);
    await turn(patient, id, 'paused');
    expect(await plays(1, 2)).toBe(false);
  });

  it('PERM-6: with a PIN opens on the device that gave the PIN of this very link', async () => {
    const patient = await screened();
    const [token, pin, otherPin] = ['a'.repeat(43), 'b'.repeat(43), 'c'.repeat(43)];
    const owner = { patientId: patient.id };
    const rest = { clinicId: at.clinicId, clinicianId: at.clinicianId, nowMs: at.now() };
    const expiresAtMs = at.now() + dayMs;
    await at.store.write(async (db) => {
      const linkId = await makeLink(db, {
        ...{ ...rest, owner, tokenHash: hashToken(token), codeHash: randomUUID() },
        ...{ pinHash: 'h', expiresAtMs },
      });
      await addToken(db, { linkId, tokenHash: hashToken(pin), purpose: 'pin', nowMs: at.now() });
    });
    const other = await at.listenerOf(await screened(), 'h');
    await at.store.write((db) =>
      addToken(db, { linkId: other.linkId, tokenHash: hashToken(otherPin), purpose: 'pin', nowMs: at.now() }),
    );
    const kindWith = async (givenPin: string | null) =>
      (await resolveEntry(at.service, { token, givenPin })).kind;
    expect(await kindWith(null)).toBe('pin');
    expect(await kindWith('d'.repeat(43)), 'no PIN of ours').toBe('pin');
    expect(await kindWith(otherPin), 'of another link').toBe('pin');
    expect(await kindWith(pin)).toBe('open');
  });
});

describe('a caregiver', () => {
  it('PERM-7: sees what was done where the patient agreed to it about them, and no longer once that is taken back', async () => {
    const patient = await screened();
    await at.prescribe(patient);
    const details = { name: 'Jonas Lind', relation: 'son', phone: '', email: '' };
    const [jonas, mira] = await at.store.write(async (db) => [
      await addCaregiver(db, patient.id, details, { personId: null, nowMs: at.now() }),
      await addCaregiver(db, patient.id, details, { personId: null, nowMs: at.now() }),
    ]);
    const listener = { ...(await at.listenerOf(patient)), isCaregiver: true };
    const showsDone = async (caregiverId: string) => {
      const patients = [{ patientId: patient.id, caregiverId }];
      return (await planFor(at.service, { ...listener, patients })).people[0]?.showsDone;
    };
    const say = (isGiven: boolean) =>
      at.store.write((db) =>
        recordConsent(db, {
          ...{ patientId: patient.id, caregiverId: jonas, kind: 'caregiver-sees-done', isGiven },
          ...{ clinicianId: at.clinicianId, nowMs: at.now(), onDate: '2026-11-25', note: '' },
        }),
      );
    expect(await showsDone(jonas)).toBe(false);
    await say(true);
    expect([await showsDone(jonas), await showsDone(mira)]).toEqual([true, false]);
    await say(false);
    expect(await showsDone(jonas)).toBe(false);
  });
});
