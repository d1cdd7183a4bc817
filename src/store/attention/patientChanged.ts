import type { Db } from '../engine/openStore.js';
import { scheduleAdvice } from './adviceWatch.js';
import { refreshAttention } from './attention.js';
import { schedulePlanning } from './reminderWatch.js';

/**
 * Something about a patient has changed: attention and advice are recomputed, and reminders are planned again. Anything
 * that changes a program, a screening or a warning calls it in its own transaction.
 */
export async function scheduleAfterChange(db: Db, patientId: string): Promise<void> {
  await refreshAttention(db, patientId);
  await schedulePlanning(db, patientId);
  await scheduleAdvice(db, patientId);
}
