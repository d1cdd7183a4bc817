import { randomUUID } from 'node:crypto';
import type { Insertable } from 'kysely';
import type { Db } from '../../src/store/engine/openStore.js';
import { programChecksum, versionChecksum } from '../../src/store/schema/migrations/signedChecksums.js';
import type { Database } from '../../src/store/schema/schema.js';
import { dayMs } from '../../src/time/units.js';
import { makeBenchClinic } from './benchClinic.js';

const rowsAtOnce = 500;

/** Adds people who have a program, agreed to reminders, and all have one due at the same minute. */
export async function fillWithReminders(db: Db, people: number, dueAtMs: number): Promise<void> {
  const signedAtMs = dueAtMs - 30 * dayMs;
  const { clinicId, clinicianId } = await makeBenchClinic(db, signedAtMs);
  const content = JSON.stringify({
    format: 'stillcount-prescription/1',
    timesADay: 2,
    timesOfDay: ['09:00', '17:00'],
    program: {
      format: 'stillcount-program/1',
      exercises: Array.from({ length: 8 }, () => ({ exercise: 'rest' })),
    },
  });
  const day = new Date(dueAtMs).toISOString().slice(0, 10);
  for (let start = 0; start < people; start += rowsAtOnce) {
    const ids = Array.from({ length: Math.min(rowsAtOnce, people - start) }, () => ({
      patientId: randomUUID(),
      prescriptionId: randomUUID(),
      contactId: randomUUID(),
    }));
    await insert(
      db,
      'patient',
      ids.map(({ patientId: id }) => ({
        ...{ id, clinicId, name: 'Rosa', spokenName: 'Rosa', sayAs: '', birthYear: 1940, language: 'en' },
        ...{ zone: 'UTC', phone: '', email: `${id}@example.org`, hearingNotes: '', goals: '[]' },
        ...{ searchName: 'rosa', createdAtMs: signedAtMs, revision: 1 },
      })),
    );
    await insert(
      db,
      'consent',
      ids.map(({ patientId }) => ({
        ...{
          id: randomUUID(),
          patientId,
          caregiverId: null,
          kind: 'reminders' as const,
          number: 1,
          isGiven: 1,
        },
        ...{ onDate: '2026-01-01', note: '', clinicianId, atMs: signedAtMs },
      })),
    );
    await insert(
      db,
      'prescription',
      ids.map(({ patientId, prescriptionId: id }) => {
        const row = { id, patientId, title: 'Home', state: 'active' as const, newestVersion: 1 };
        const made = { ...row, createdAtMs: signedAtMs };
        return { ...made, workId: null, checksum: programChecksum(made) };
      }),
    );
    await insert(
      db,
      'prescriptionVersion',
      ids.map(({ patientId, prescriptionId }) => {
        const signed = { content, screeningId: null, reason: 'r', signedBy: clinicianId, signedAtMs };
        const row = { prescriptionId, number: 1, ...signed };
        return { ...row, checksum: versionChecksum({ ...row, patientId }) };
      }),
    );
    await insert(
      db,
      'contact',
      ids.map(({ patientId, contactId: id }) => ({
        ...{ id, clinicId, patientId, caregiverPersonId: null, clinicianId: null, channel: 'mail' as const },
        ...{ address: JSON.stringify(`${id}@example.org`), addressHash: id, unsubscribeHash: id },
        ...{ createdAtMs: signedAtMs, endedAtMs: null, endedWhy: null },
      })),
    );
    await insert(
      db,
      'delivery',
      ids.map(({ patientId, prescriptionId, contactId }) => ({
        ...{ id: randomUUID(), key: `due ${prescriptionId} ${day}#1 ${contactId}`, clinicId, patientId },
        ...{ kind: 'due' as const, prescriptionId, slot: `${day}#1`, slotDueAtMs: dueAtMs, subject: null },
        ...{ contactId, caregiverId: null, state: 'waiting' as const, forAtMs: dueAtMs, nextAtMs: dueAtMs },
        ...{ goodUntilMs: dueAtMs + 3_600_000, attempts: 0, leaseOwner: null, leaseUntilMs: null, why: null },
        ...{ isLate: null, settledAtMs: null, seenAtMs: null },
      })),
    );
  }
}

async function insert<Table extends keyof Database>(
  db: Db,
  table: Table,
  rows: readonly Insertable<Database[Table]>[],
): Promise<void> {
  await db.insertInto(table).values(rows).execute();
}
