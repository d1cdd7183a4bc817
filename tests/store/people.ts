import { randomUUID } from 'node:crypto';
import { createFirstClinic, inviteFirstOwner } from '../../src/store/accounts/clinicians.js';
import type { Db } from '../../src/store/engine/openStore.js';
import { createPatient } from '../../src/store/people/patients.js';

/** A clinic with its owner, Ada. */
export async function makeClinic(
  db: Db,
  nowMs: number,
  email = 'ada@example.org',
): Promise<{ clinicId: string; clinicianId: string }> {
  const tokenHash = randomUUID();
  await inviteFirstOwner(db, { tokenHash, nowMs, expiresAtMs: nowMs + 1 });
  const owner = { clinicName: 'Quillmere', zone: 'UTC', name: 'Ada', email, passwordHash: 'h' };
  const made = await createFirstClinic(db, { tokenHash, ...owner, nowMs });
  if (made === null) throw new RangeError('the invitation is new');
  return made;
}

/** @returns the id of the new patient */
export function makePatient(db: Db, clinicId: string, nowMs: number, name = 'Rosa Lind'): Promise<string> {
  const details = { name, spokenName: 'Rosa', sayAs: '', birthYear: 1944, language: 'en', zone: 'UTC' };
  const contact = { phone: '', email: '', hearingNotes: '', goals: [] };
  return createPatient(db, clinicId, { ...details, ...contact }, nowMs);
}
