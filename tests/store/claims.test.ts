import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Store } from '../../src/store/engine/openStore.js';
import { addContact } from '../../src/store/people/contacts.js';
import {
  type Claiming,
  claimDeliveries,
  insertDeliveries,
  type Settled,
  settleDeliveries,
} from '../../src/store/reminding/deliveries.js';
import { openSqliteStore } from './databases.js';
import { makeClinic, makePatient } from './people.js';

const dueMs = Date.UTC(2026, 10, 25, 9);
const leaseMs = 45_000;
let store: Store;
let close: () => Promise<void>;
let clinicId: string;
let patientId: string;
let contactId: string;
beforeAll(async () => {
  ({ store, close } = await openSqliteStore());
  ({ clinicId } = await store.write((db) => makeClinic(db, dueMs)));
  patientId = await store.write((db) => makePatient(db, clinicId, dueMs));
  contactId = await store.write((db) =>
    addContact(db, {
      ...{ clinicId, owner: { patientId }, channel: 'mail', address: '"rosa@example.org"' },
      ...{ unsubscribeHashOf: (id) => id, nowMs: dueMs },
    }),
  );
});
afterAll(() => close());

/** One reminder that is due at nine. @returns its key */
async function plan(): Promise<string> {
  const key = randomUUID();
  const about = { clinicId, patientId, prescriptionId: null, contactId, caregiverId: null, subject: null };
  await store.write((db) =>
    insertDeliveries(db, [
      {
        ...{ key, ...about, kind: 'due', slot: '2026-11-25#1', slotDueAtMs: dueMs },
        ...{ forAtMs: dueMs, nextAtMs: dueMs, goodUntilMs: dueMs + 3_600_000 },
      },
    ]),
  );
  return key;
}
const claim = (owner: string, nowMs: number, more: Partial<Claiming> = {}) =>
  store.write((db) =>
    claimDeliveries(db, { owner, nowMs, leaseMs, most: 10, isShared: false, onlyWarnings: false, ...more }),
  );
const settle = (owner: string, id: string, state: Settled['state'] = 'sent') =>
  store.write((db) =>
    settleDeliveries(
      db,
      owner,
      [{ id, patientId, state, why: null, isLate: false, nextAtMs: null, isUntried: false }],
      dueMs,
    ),
  );
const stateOf = (id: string) =>
  store.read((db) =>
    db.selectFrom('delivery').select(['state', 'leaseOwner']).where('id', '=', id).executeTakeFirstOrThrow(),
  );

describe('R2: what a process holds', () => {
  it('R2: is claimed when it is due and not a millisecond before, and by nobody else until its lease is over', async () => {
    const key = await plan();
    expect(await claim('one', dueMs - 1)).toEqual([]);
    const [held] = await claim('one', dueMs);
    expect(held?.key).toBe(key);
    expect(await claim('two', dueMs + leaseMs - 1), 'held').toEqual([]);
    const [taken] = await claim('two', dueMs + leaseMs);
    expect(taken?.key, 'whoever is not heard of is taken to be gone').toBe(key);
    await settle('two', taken?.id ?? '');
  });

  it('R2: is not claimed anew by the process that is sending it, whatever the clock says', async () => {
    const key = await plan();
    const [held] = await claim('one', dueMs);
    expect(held?.key).toBe(key);
    expect(await claim('one', dueMs + 86_400_000, { except: [held?.id ?? ''] })).toEqual([]);
    await settle('one', held?.id ?? '');
  });

  it('R2: is settled by that process alone, and once', async () => {
    await plan();
    const [{ id } = { id: '' }] = await claim('one', dueMs);
    expect(await settle('two', id), 'another one').toBe(0);
    expect(await stateOf(id)).toEqual({ state: 'sending', leaseOwner: 'one' });
    expect(await settle('one', id)).toBe(1);
    expect(await settle('one', id, 'failed'), 'again').toBe(0);
    expect(await stateOf(id)).toEqual({ state: 'sent', leaseOwner: null });
  });

  it('R2: passes to whoever takes it over, and the one before settles it no more', async () => {
    await plan();
    const [{ id } = { id: '' }] = await claim('one', dueMs);
    await claim('two', dueMs + leaseMs);
    expect(await settle('one', id, 'failed')).toBe(0);
    expect(await stateOf(id)).toEqual({ state: 'sending', leaseOwner: 'two' });
    expect(await settle('two', id)).toBe(1);
  });
});
