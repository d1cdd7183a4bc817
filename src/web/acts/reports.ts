import { correctedAtMs } from '../../listening/clock.js';
import {
  type ReportAnswer,
  type ReportItem,
  reportItemSchema,
  reportSchema,
} from '../../listening/report.js';
import { refreshAttention } from '../../store/attention.js';
import { record } from '../../store/audit.js';
import { keepCheckIn, keepNotToday, keepStep, keepWarning } from '../../store/listeningRecords.js';
import type { Db } from '../../store/openStore.js';
import { lockPatient } from '../../store/patients.js';
import { prescriptionById } from '../../store/prescriptions.js';
import { parsedForm } from '../forms/values.js';
import type { Listener } from '../listening/access.js';
import type { Service } from '../service.js';

/**
 * Keeps what a listener's device tells, each item once and in one transaction, also about a program that was paused or
 * ended meanwhile. Items about somebody whom this link is not for are left unanswered: another link may bring them.
 *
 * @throws StillcountError kind `input` when it is no report at all
 */
export async function keepReport(
  { store, now }: Service,
  listener: Listener,
  body: unknown,
): Promise<ReportAnswer> {
  const { sentAtMs, items } = parsedForm(reportSchema, Object(body));
  const receivedAtMs = now();
  const answer: ReportAnswer = { keptIds: [], refused: [] };
  const read = items.flatMap((value, index) => {
    const parsed = reportItemSchema.safeParse(value);
    if (parsed.success) return [{ index, item: parsed.data }];
    answer.refused.push({ index, why: parsed.error.issues[0]?.message ?? 'it cannot be read' });
    return [];
  });
  await store.write(async (db) => {
    for (const { index, item } of read) {
      const from = listener.patients.find(({ patientId }) => patientId === item.patientId);
      if (from === undefined) continue;
      const prescription = await prescriptionById(db, listener.clinicId, item.prescriptionId);
      const isKnown =
        prescription?.patientId === item.patientId && item.versionNumber <= prescription.newestVersion;
      if (!isKnown) {
        answer.refused.push({ index, why: 'there is no such program' });
        continue;
      }
      const atMs = correctedAtMs(item.atMs, sentAtMs, receivedAtMs);
      const { linkId } = listener;
      await keep(db, item, { linkId, caregiverId: from.caregiverId, atMs, receivedAtMs }, listener.clinicId);
      answer.keptIds.push(item.id);
    }
  });
  return answer;
}

type Told = { linkId: string; caregiverId: string | null; atMs: number; receivedAtMs: number };

async function keep(db: Db, item: ReportItem, told: Told, clinicId: string): Promise<void> {
  switch (item.kind) {
    case 'step': {
      const { kind: _kind, ...step } = item;
      await keepStep(db, { ...step, ...told });
      return;
    }
    case 'not-today': {
      const { kind: _kind, ...putOff } = item;
      await keepNotToday(db, { ...putOff, ...told });
      return;
    }
    case 'check-in': {
      const { kind: _kind, answers, ...checkIn } = item;
      await keepCheckIn(db, { ...checkIn, ...told, answers: JSON.stringify(answers) });
      return;
    }
    case 'warning': {
      const { kind: _kind, signs, ...warning } = item;
      await lockPatient(db, item.patientId);
      if (!(await keepWarning(db, { ...warning, ...told, signs: JSON.stringify(signs) }))) return;
      await refreshAttention(db, item.patientId);
      const what = { patientId: item.patientId, subject: item.id, action: 'warning-reported' };
      await record(db, { ...what, clinicId, clinicianId: null, atMs: told.receivedAtMs });
    }
  }
}
