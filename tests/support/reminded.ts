import { createECDH, randomBytes } from 'node:crypto';
import { join } from 'node:path';
import { openReminderSecrets, type ReminderSecrets } from '../../src/reminders/secrets.js';
import { type Db, openStore, readSnapshot } from '../../src/store/engine/openStore.js';
import { Sqlite } from '../sqlite.js';
import type { TestClinic, Visitor } from './clinic.js';

/** A browser's subscription as `PushSubscription.toJSON` gives it, with keys of its own (RFC 8291, section 2). */
export function newSubscription(endpoint = `https://push.example.org/${randomBytes(8).toString('hex')}`) {
  const keys = createECDH('prime256v1');
  const p256dh = keys.generateKeys().toString('base64url');
  return {
    endpoint,
    expirationTime: null,
    keys: { p256dh, auth: randomBytes(16).toString('base64url') },
  };
}

/** A patient agrees to something, about one of their caregivers where one is named. */
export async function agree(
  visitor: Visitor,
  patientPath: string,
  kind: string,
  { caregiverId = '', isGiven = 'yes' } = {},
): Promise<void> {
  const consent = { kind, caregiverId, isGiven, onDate: '2026-11-20' };
  const answer = await visitor.submit(`${patientPath}/consents`, consent);
  if (answer.status !== 303) throw new Error(`no consent: ${answer.status}`);
}

export type ContactRow = {
  id: string;
  patientId: string | null;
  caregiverPersonId: string | null;
  channel: string;
  address: string;
  endedWhy: string | null;
};

/** Everything by which a clinic reaches anybody, oldest first. */
export function contactsIn(clinic: TestClinic): ContactRow[] {
  return rowsOf(clinic, 'select * from contact order by createdAtMs, rowid') as ContactRow[];
}

/** The trail of one action, by what it was about. */
export function trailOf(clinic: TestClinic, action: string): unknown[] {
  const rows = rowsOf(clinic, 'select subject from auditEntry where action = ? order by sequence', action);
  return rows.map((row) => Object(row).subject);
}

function rowsOf({ folder }: TestClinic, query: string, ...values: string[]): unknown[] {
  const database = new Sqlite(join(folder, 'clinic.db'), { readonly: true });
  try {
    return database.prepare(query).all(...values);
  } finally {
    database.close();
  }
}

/** The clinic's one clinician. */
export function clinicianIn(clinic: TestClinic): { id: string; clinicId: string; wantsDigest: number } {
  return rowsOf(clinic, 'select * from clinician')[0] as ReturnType<typeof clinicianIn>;
}

/** The address in messages to a contact that ends them. */
export async function unsubscribePath(clinic: TestClinic, contactId: string): Promise<string> {
  return `/unsubscribe/${(await secretsOf(clinic)).unsubscribeTokenOf(contactId)}`;
}

/** What the service keeps of the token in that address. */
export async function unsubscribeHash(clinic: TestClinic): Promise<(contactId: string) => string> {
  return (await secretsOf(clinic)).unsubscribeHashOf;
}

function secretsOf({ folder }: TestClinic): Promise<ReminderSecrets> {
  const read = <Result>(work: (db: Db) => Promise<Result>) =>
    readSnapshot({ kind: 'sqlite', file: join(folder, 'clinic.db') }, work);
  // The service made its secrets when it started: they are only read.
  const store = { kind: 'sqlite', read, write: read, close: async () => undefined } as const;
  return openReminderSecrets(store, 0);
}

/** Does something in the database of a clinic while its service does not run. */
export async function whileStopped<Result>(
  clinic: TestClinic,
  work: (db: Db) => Promise<Result>,
): Promise<Result> {
  await clinic.service.stop();
  const store = await openStore({ kind: 'sqlite', file: join(clinic.folder, 'clinic.db') });
  try {
    return await store.write(work);
  } finally {
    await store.close();
    await clinic.restart();
  }
}
