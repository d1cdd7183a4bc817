import { refreshAttention } from '../attention/patientChanged.js';
import type { Db } from '../engine/openStore.js';
import type { ChannelName, DeliveryKind, DeliveryState } from '../schema/reminderSchema.js';

/** A delivery as the clinic sees it. */
export type ShownDelivery = {
  id: string;
  patientId: string | null;
  kind: DeliveryKind;
  slot: string | null;
  state: DeliveryState;
  forAtMs: number;
  nextAtMs: number;
  attempts: number;
  why: string | null;
  isLate: boolean;
  settledAtMs: number | null;
  seenAtMs: number | null;
  channel: ChannelName;
  /** JSON, as the channel reads it. */
  address: string;
  /** The recipient: the caregiver's or clinician's name; null for the patient. */
  to: string | null;
};

/** Sent and planned messages about a patient, newest first. */
export async function deliveriesOf(
  db: Db,
  patientId: string,
  { sinceMs, most }: { sinceMs: number; most: number },
): Promise<ShownDelivery[]> {
  const rows = await shown(db)
    .where('delivery.patientId', '=', patientId)
    .where('delivery.forAtMs', '>=', sinceMs)
    .orderBy('delivery.forAtMs', 'desc')
    .orderBy('delivery.id')
    .limit(most)
    .execute();
  return rows.map(asShown);
}

/** Failed messages that no clinician has seen yet, newest first. */
export async function failedDeliveriesOf(db: Db, clinicId: string, most: number): Promise<ShownDelivery[]> {
  const rows = await shown(db)
    .where('delivery.clinicId', '=', clinicId)
    .where('delivery.state', '=', 'failed')
    .where('delivery.seenAtMs', 'is', null)
    .orderBy('delivery.settledAtMs', 'desc')
    .orderBy('delivery.id')
    .limit(most)
    .execute();
  return rows.map(asShown);
}

/** Marks failures about a patient, or about no patient (null), as seen by a clinician. @returns how many */
export async function markFailuresSeen(
  db: Db,
  clinicId: string,
  { patientId, nowMs }: { patientId: string | null; nowMs: number },
): Promise<number> {
  const result = await db
    .updateTable('delivery')
    .set({ seenAtMs: nowMs })
    .where('clinicId', '=', clinicId)
    .where('patientId', patientId === null ? 'is' : '=', patientId)
    .where('state', '=', 'failed')
    .where('seenAtMs', 'is', null)
    .executeTakeFirst();
  if (patientId !== null) await refreshAttention(db, patientId);
  return Number(result.numUpdatedRows);
}

function shown(db: Db) {
  return db
    .selectFrom('delivery')
    .innerJoin('contact', 'contact.id', 'delivery.contactId')
    .leftJoin('caregiver', 'caregiver.id', 'delivery.caregiverId')
    .leftJoin('clinician', 'clinician.id', 'contact.clinicianId')
    .select([
      ...(['delivery.id', 'delivery.patientId', 'delivery.kind', 'delivery.slot', 'delivery.state'] as const),
      ...(['delivery.forAtMs', 'delivery.nextAtMs', 'delivery.attempts', 'delivery.why'] as const),
      ...(['delivery.isLate', 'delivery.settledAtMs', 'delivery.seenAtMs'] as const),
      ...(['contact.channel', 'contact.address'] as const),
      'caregiver.name as caregiverName',
      'clinician.name as clinicianName',
    ]);
}

type Row = Awaited<ReturnType<ReturnType<typeof shown>['execute']>>[number];

function asShown({ caregiverName, clinicianName, isLate, ...row }: Row): ShownDelivery {
  return { ...row, isLate: isLate === 1, to: caregiverName ?? clinicianName };
}
