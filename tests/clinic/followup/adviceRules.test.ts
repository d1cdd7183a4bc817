import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { acceptAdvice, applyAdvisedDose, computeAdvice } from '../../../src/clinic/followup/advice.js';
import { resolveWarnings } from '../../../src/clinic/followup/warnings.js';
import { openChart } from '../../../src/clinic/people/chart.js';
import type { ExerciseAdvice } from '../../../src/followup/adviceParts.js';
import { versionsOf } from '../../../src/store/people/chart.js';
import { draftAt, writeDraft } from '../../../src/store/prescribing/prescriptions.js';
import { acting } from '../acting.js';
import { type DirectClinic, dayMs, openDirectClinic, refused } from '../directClinic.js';

/** What stands before each colon is the rule’s id in the safety case. */
let at: DirectClinic;
beforeAll(async () => {
  at = await openDirectClinic();
});
afterAll(() => at.remove());
const { screened, today } = acting(() => at);

describe('advice', () => {
  it('ADV-7: changes one exercise, and of that the numbers that differ', () => {
    const exercises = ['ankle-pumps', 'bridge', 'heel-press'].map((exercise) => ({
      exercise,
      dose: { reps: 5, restSeconds: 4 },
    }));
    const content = at.contentOf({ exercises });
    const advice: ExerciseAdvice = {
      ...{
        kind: 'step-up',
        why: 'all-met',
        conditions: [],
        key: 'k',
        exerciseIndex: 1,
        exerciseId: 'bridge',
      },
      ...{ ruleId: null, limits: [], toName: null, sinceMs: 0 },
      dose: { reps: 5, sets: 1, restSeconds: 4 },
      to: { reps: 8, sets: 1, restSeconds: 4 },
    };
    const changed = applyAdvisedDose(content, advice);
    expect(changed).toEqual(
      at.contentOf({
        exercises: exercises.map((entry, index) =>
          index === 1 ? { ...entry, dose: { reps: 8, restSeconds: 4 } } : entry,
        ),
      }),
    );
  });

  /** Somebody to whom the last two of three sessions were far too hard, so that less is advised. */
  async function tired() {
    const patient = await screened();
    const reps = (count: number) => ({ exercises: [{ exercise: 'ankle-pumps', dose: { reps: count } }] });
    const id = await at.prescribe(patient, at.contentOf(reps(15)));
    const listener = await at.listenerOf(patient);
    for (const effort of [3, 9, 9]) {
      at.pass(dayMs);
      const about = { ...at.about(patient, id), slot: `${today()}#1` };
      const answers = { done: 'all', painBefore: 2, painAfter: 2, effort, signs: [] };
      await at.report(listener, [
        { kind: 'step', ...about, step: 'started', positionMs: 0 },
        { kind: 'step', ...about, id: randomUUID(), step: 'finished', positionMs: 300_000 },
        { kind: 'check-in', ...about, id: randomUUID(), answers },
      ]);
    }
    const now = await computeAdvice(at.service, at.chart(patient));
    const [advice] = now.programs[0]?.exercises ?? [];
    if (advice === undefined) throw new RangeError('one program runs');
    const named = { prescriptionId: id, versionNumber: 1, exerciseIndex: 0, key: advice.key };
    return { patient, id, advice, named };
  }
  const versionsNow = (id: string) => at.store.read((db) => versionsOf(db, id));

  it('ADV-7: signs exactly what was shown, once', async () => {
    const { patient, id, advice, named } = await tired();
    expect(advice).toMatchObject({ kind: 'step-down', why: 'too-hard', to: { reps: 10 } });
    const changed = { ...named, key: `${named.key} of yesterday` };
    const accept = (what: typeof named) =>
      acceptAdvice(at.service, at.actor(), at.chart(patient), what, 'As advised');
    expect(await refused(() => accept(changed))).toContain('advice-outdated');
    expect(await refused(() => accept({ ...named, versionNumber: 2 }))).toContain('advice-outdated');
    expect(await versionsNow(id)).toHaveLength(1);
    const signed = await accept(named);
    expect(signed).toMatchObject({ kind: 'signed', prescriptionId: id, number: 2 });
    expect(signed, 'sent twice').toMatchObject(await accept(named));
    const [newest, before, ...more] = await versionsNow(id);
    expect(more).toEqual([]);
    const dose = ({ content }: { content: string | null } = { content: null }) =>
      JSON.parse(content ?? 'null').program.exercises[0].dose;
    expect([dose(before), dose(newest)]).toEqual([{ reps: 15 }, { reps: 10 }]);
  });

  it('ADV-7: signs nothing where a sign came meanwhile, or over unsigned work of hers', async () => {
    const { patient, id, named } = await tired();
    const { store } = at.service;
    let writes = 0;
    const meanwhile = {
      ...store,
      write: async <Result>(job: Parameters<typeof store.write<Result>>[0]) => {
        writes += 1;
        if (writes === 1) await at.warn(patient, id);
        return store.write(job);
      },
    };
    const late = () =>
      acceptAdvice(
        { ...at.service, store: meanwhile },
        at.actor(),
        openChart(meanwhile, at.clinicId, patient),
        named,
        'As advised',
      );
    expect(await refused(late)).toContain('advice-outdated');
    await resolveWarnings(at.service, at.actor(), patient.id, {
      ...{ note: 'It was cramp', seenUpToMs: at.now(), keepsPaused: false },
    });
    const other = await tired();
    const place = { clinicianId: at.ada.id, patientId: other.patient.id, prescriptionId: other.id };
    const draft = { content: JSON.stringify(at.contentOf()), basedOnNumber: 1, updatedAtMs: at.now() };
    await at.store.write((db) => writeDraft(db, place, draft));
    const over = () =>
      acceptAdvice(at.service, at.actor(), at.chart(other.patient), other.named, 'As advised');
    expect(await refused(over)).toContain('conflicting-draft');
    expect(await at.store.read((db) => draftAt(db, place))).not.toBeNull();
    for (const each of [id, other.id]) expect(await versionsNow(each)).toHaveLength(1);
  });
});
