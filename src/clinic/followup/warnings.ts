import { z } from 'zod';
import { auditActor } from '../../store/accounts/audit.js';
import { scheduleAfterChange } from '../../store/attention/patientChanged.js';
import { answerWarnings } from '../../store/listening/listeningRecords.js';
import { changeState } from '../../store/prescribing/prescriptions.js';
import { type Actor, requireMayWrite } from '../actor.js';
import { lockOwnChart } from '../people/chart.js';
import { refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { parseForm, reasonSchema } from '../values.js';

const settlingSchema = z.object({
  note: reasonSchema,
  /** When the page on which she saw them was rendered. */
  seenUpToMs: z.coerce.number().int().min(0),
  /** Whether the programs stay paused anyway. */
  keepsPaused: z.boolean(),
});

/**
 * Records what a clinician did about the warning signs she has seen. The patient's programs then play again, unless she
 * keeps them paused or another sign arrived in the meantime.
 *
 * @throws Refused for a read-only member, for another program, or if they were already answered; also without a note
 */
export async function resolveWarnings(
  service: Pick<Resources, 'store'>,
  actor: Actor,
  patientId: string,
  said: z.input<typeof settlingSchema>,
): Promise<void> {
  requireMayWrite(actor);
  if (actor.accessKeyId !== null) throw refused('answer-on-page-only');
  const { note: words, seenUpToMs, keepsPaused } = parseForm(settlingSchema, said);
  const clinicianId = actor.clinician.id;
  await service.store.write(async (db) => {
    const chart = await lockOwnChart(db, actor, patientId);
    // Rule WARN-1: she has not seen signs that arrived after her page was rendered.
    const seen = Math.min(seenUpToMs, actor.nowMs);
    const answer = { seenUpToMs: seen, clinicianId, note: words, nowMs: actor.nowMs };
    const answered = await answerWarnings(db, patientId, answer);
    if (answered.length === 0) throw refused('answered-already');
    for (const prescription of keepsPaused ? await chart.programs() : []) {
      if (prescription.state !== 'active') continue;
      const step = { prescriptionId: prescription.id, state: 'paused', clinicianId, reason: words } as const;
      await changeState(db, { ...step, nowMs: actor.nowMs });
      await auditActor(db, actor, { patientId, subject: prescription.id, action: 'prescription-paused' });
    }
    await scheduleAfterChange(db, patientId);
    await auditActor(db, actor, {
      patientId,
      subject: answered.at(0) ?? patientId,
      action: 'warning-answered',
    });
  });
}
