import type { NotTodayReason } from '../../listening/report.js';
import type { Db } from '../engine/openStore.js';
import type { CheckInRow } from './listeningRecords.js';

/** A year of them is read at once: only the needed columns. */
export type ReportedCheckIn = Pick<CheckInRow, (typeof checkInColumns)[number]>;
const checkInColumns = [
  'id',
  'prescriptionId',
  'versionNumber',
  'slot',
  'caregiverId',
  'atMs',
  'answers',
] as const satisfies (keyof CheckInRow)[];

/** Everything a patient reported about sessions, apart from what was heard. */
export type Reported = {
  checkIns: ReportedCheckIn[];
  putOff: { id: string; prescriptionId: string; slot: string; reason: NotTodayReason; atMs: number }[];
  /** Downloaded by another player. */
  fetched: { prescriptionId: string; slot: string }[];
};

/** Oldest first. */
export async function reportedOf(db: Db, patientId: string): Promise<Reported> {
  const checkIns = await db
    .selectFrom('checkIn')
    .select(checkInColumns)
    .where('patientId', '=', patientId)
    .orderBy('atMs')
    .orderBy('id')
    .execute();
  const putOff = await db
    .selectFrom('notToday')
    .select(['id', 'prescriptionId', 'slot', 'reason', 'atMs'])
    .where('patientId', '=', patientId)
    .orderBy('atMs')
    .orderBy('id')
    .execute();
  const fetched = await db
    .selectFrom('feedDelivery')
    .select(['prescriptionId', 'slot'])
    .distinct()
    .where('patientId', '=', patientId)
    .execute();
  return { checkIns, putOff, fetched };
}
