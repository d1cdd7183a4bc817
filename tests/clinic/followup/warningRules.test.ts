import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { resolveWarnings } from '../../../src/clinic/followup/warnings.js';
import { planFor } from '../../../src/clinic/listening/planFor.js';
import { playableProgram } from '../../../src/clinic/listening/sessions.js';
import { openWarningSince } from '../../../src/store/attention/patientChanged.js';
import { warningsOf } from '../../../src/store/followup/history.js';
import type { Patient } from '../../../src/store/people/chart.js';
import { acting } from '../acting.js';
import { type DirectClinic, dayMs, openDirectClinic } from '../directClinic.js';

/** What stands before each colon is the rule’s id in the safety case. */
let at: DirectClinic;
beforeAll(async () => {
  at = await openDirectClinic();
});
afterAll(() => at.remove());
const { screened } = acting(() => at);

describe('a warning sign', () => {
  const answer = (seenUpToMs: number, more: object = {}) => ({
    ...{ note: 'Called her; it was cramp', seenUpToMs, keepsPaused: false, ...more },
  });
  const heldSince = ({ id }: Patient) => at.store.read((db) => openWarningSince(db, id));

  it('WARN-1: that came after the page was drawn is not answered with it', async () => {
    const patient = await screened();
    const other = await screened();
    const [id, otherId] = [await at.prescribe(patient), await at.prescribe(other)];
    await at.warn(patient, id);
    await at.warn(other, otherId);
    const drawnMs = at.now();
    at.pass(1);
    await at.warn(patient, id, ['chest-pain']);
    at.pass(1_000);
    await resolveWarnings(at.service, at.actor(), patient.id, answer(drawnMs));
    expect(await heldSince(patient), 'the later one').toBe(drawnMs + 1);
    expect(await heldSince(other), 'of somebody else').toBe(drawnMs);
    await expect(
      resolveWarnings(at.service, at.actor(), patient.id, answer(drawnMs)),
      'nothing of what she saw is open',
    ).rejects.toMatchObject({ kind: 'changed' });
  });

  it('WARN-1: that is to come is answered by no page, whatever it claims to have seen', async () => {
    const patient = await screened();
    const id = await at.prescribe(patient);
    await at.warn(patient, id);
    const actor = at.actor();
    at.pass(60_000);
    await at.warn(patient, id, ['chest-pain']);
    await resolveWarnings(at.service, actor, patient.id, answer(at.now() + 10 * dayMs));
    expect(await heldSince(patient)).toBe(at.now());
  });

  it('WARN-2: holds everything back, also while another one was answered', async () => {
    const patient = await screened();
    const id = await at.prescribe(patient);
    const listener = await at.listenerOf(patient);
    const plays = () =>
      playableProgram(
        at.service,
        { clinicId: at.clinicId, patientIds: [patient.id] },
        { prescriptionId: id, versionNumber: 1, sessionNumber: 1 },
      ).then((found) => found !== null);
    const isHeld = async () => (await planFor(at.service, listener)).people[0]?.isHeld;
    expect([await plays(), await isHeld()]).toEqual([true, false]);
    await at.warn(patient, id);
    const firstMs = at.now();
    at.pass(1);
    await at.warn(patient, id, ['chest-pain']);
    await resolveWarnings(at.service, at.actor(), patient.id, answer(firstMs));
    expect([await plays(), await isHeld()], 'the second one').toEqual([false, true]);
    await resolveWarnings(at.service, at.actor(), patient.id, answer(at.now()));
    expect([await plays(), await isHeld()]).toEqual([true, false]);
    const other = await screened();
    await at.warn(other, await at.prescribe(other));
    expect([await plays(), await isHeld()], 'of somebody else').toEqual([true, false]);
  });

  it('WARN-4: of two that were ticked is told of where only one was told before, in that session', async () => {
    const patient = await screened();
    const id = await at.prescribe(patient);
    const listener = await at.listenerOf(patient);
    const warningsOf = async () =>
      (
        await at.store.read((db) =>
          db.selectFrom('warning').select('signs').where('patientId', '=', patient.id).execute(),
        )
      ).length;
    const about = at.about(patient, id);
    await at.report(listener, [{ kind: 'warning', ...about, signs: ['faint'], positionMs: null }]);
    const ticked = (signs: string[], listeningId: string) => ({
      ...{ kind: 'check-in', ...about, id: randomUUID(), listeningId, answers: { done: 'all', signs } },
    });
    await at.report(listener, [ticked(['faint'], about.listeningId)]);
    expect(await warningsOf(), 'told already').toBe(1);
    await at.report(listener, [ticked(['faint', 'chest-pain'], about.listeningId)]);
    expect(await warningsOf(), 'one of them is new').toBe(2);
    await at.report(listener, [ticked(['faint'], randomUUID())]);
    expect(await warningsOf(), 'in another session').toBe(3);
    const told = await at.store.read((db) =>
      db.selectFrom('delivery').select('subject').where('patientId', '=', patient.id).execute(),
    );
    expect(new Set(told.map(({ subject }) => subject)).size, 'clinicians are told of each').toBe(3);
  });

  it('WARN-8: that nobody has answered stands before all others, those that name a sign first', async () => {
    const patient = await screened();
    const id = await at.prescribe(patient);
    const listener = await at.listenerOf(patient);
    const told = async (signs: string[], agoMs: number) => {
      const warning = { kind: 'warning', ...at.about(patient, id), signs, positionMs: null };
      await at.report(listener, [{ ...warning, atMs: at.now() - agoMs }]);
      return warning.id;
    };
    const answered = await told(['faint'], 0);
    await resolveWarnings(at.service, at.actor(), patient.id, answer(at.now()));
    at.pass(1_000);
    // From a phone that had no network: they happened before the one that was answered.
    const late = await told(['chest-pain'], 3_600_000);
    const nameless = await told([], 1_800_000);
    const listed = await at.store.read((db) => warningsOf(db, patient.id, 10));
    expect(listed.map((each) => each.id)).toEqual([late, nameless, answered]);
  });
});
