import type { Db } from '../engine/openStore.js';
import { scheduleAdvice } from './adviceWatch.js';
import { refreshAttention } from './attention.js';
import { schedulePlanning } from './reminderWatch.js';

/**
 * Something about a patient has changed: who needs attention and what is advised are worked out again, and their
 * reminders are planned again. Whatever changes a program, a screening or a warning calls it in its own transaction.
 */
export async function scheduleAfterChange(db: Db, patientId: string): Promise<void> {
  await refreshAttention(db, patientId);
  await schedulePlanning(db, patientId);
  await scheduleAdvice(db, patientId);
}
