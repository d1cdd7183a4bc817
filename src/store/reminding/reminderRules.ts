import { schedulePlanning } from '../attention/patientChanged.js';
import type { Db } from '../engine/openStore.js';

/** One patient's stored reminder settings; null if none were changed. */
export type KeptReminderRules = {
  quietFrom: string;
  quietUntil: string;
  graceMinutes: number;
  caregiverAfterMinutes: number | null;
  quietAfterDays: number;
};

const columns = [
  'quietFrom',
  'quietUntil',
  'graceMinutes',
  'caregiverAfterMinutes',
  'quietAfterDays',
] as const;

export async function reminderRulesOf(db: Db, patientId: string): Promise<KeptReminderRules | null> {
  const found = await db
    .selectFrom('reminderRules')
    .select(columns)
    .where('patientId', '=', patientId)
    .executeTakeFirst();
  return found ?? null;
}

/** For a patient whom the caller has checked to be of the clinic. */
export async function saveReminderRules(db: Db, patientId: string, rules: KeptReminderRules): Promise<void> {
  await db
    .insertInto('reminderRules')
    .values({ patientId, ...rules })
    .onConflict((conflict) => conflict.column('patientId').doUpdateSet(rules))
    .execute();
  await schedulePlanning(db, patientId);
}
