import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { channelFailureReasons } from '../../../src/channels/outcomes.js';
import { unsentReasons } from '../../../src/schedule/sending.js';
import { type Db, openStore } from '../../../src/store/engine/openStore.js';
import { addContact } from '../../../src/store/people/contacts.js';
import { insertDeliveries, type NewDelivery } from '../../../src/store/reminding/deliveries.js';
import { openWords } from '../../../src/text/words.js';
import { owner } from '../../support/clinic.js';
import { openRemindersClinic, read } from '../../support/remindersClinic.js';

const { clinic, ada, ben, eve, nowMs, html, newPerson, pageOf } = await openRemindersClinic();
afterAll(() => clinic.remove());

/** Writes into the database of the service, which stands still meanwhile. */
async function behindTheScenes(write: (db: Db) => Promise<void>): Promise<void> {
  await clinic.service.stop();
  const store = await openStore({ kind: 'sqlite', file: join(clinic.folder, 'clinic.db') });
  await store.write(write);
  await store.close();
  await clinic.restart();
}

async function failedDelivery(
  db: Db,
  about: { patientId: string | null; clinicianId: string; clinicId: string },
  why: string,
): Promise<void> {
  const { patientId, clinicianId, clinicId } = about;
  const owned = patientId === null ? { clinicianId } : { patientId };
  const contactId = await addContact(db, {
    clinicId,
    owner: owned,
    channel: 'mail',
    address: JSON.stringify('gone@example.org'),
    unsubscribeHashOf: (id) => id,
    nowMs,
  });
  const forAtMs = nowMs - 3_600_000;
  const planned: NewDelivery = {
    ...{ key: `${why} ${contactId}`, clinicId, patientId, contactId, forAtMs },
    ...{ kind: patientId === null ? 'digest' : 'due', nextAtMs: forAtMs, goodUntilMs: nowMs },
    ...{ prescriptionId: null, slot: null, slotDueAtMs: null, subject: null, caregiverId: null },
  };
  await insertDeliveries(db, [planned]);
  const failed = { state: 'failed', why, settledAtMs: nowMs - 60_000, attempts: 3 } as const;
  await db.updateTable('delivery').set(failed).where('key', '=', planned.key).execute();
}

describe('what could not be delivered', () => {
  it('is on the pages of the person and of the clinic in plain words, until somebody has seen it', async () => {
    const path = await newPerson({ name: 'Otto Fehr' });
    const patientId = path.split('/')[2] ?? '';
    await behindTheScenes(async (db) => {
      const { id: clinicianId, clinicId } = await db
        .selectFrom('clinician')
        .select(['id', 'clinicId'])
        .where('email', '=', owner.email)
        .executeTakeFirstOrThrow();
      await failedDelivery(db, { patientId, clinicianId, clinicId }, 'mail-no-such-address');
      await failedDelivery(db, { patientId: null, clinicianId, clinicId }, 'a-code-to-come');
      const reason = { patientId, clinicId, kind: 'not-delivered', subject: patientId } as const;
      await db
        .insertInto('attention')
        .values({ ...reason, sinceMs: nowMs })
        .execute();
    });
    const home = await html('/');
    expect(home).toContain(
      `<a href="/patients/${patientId}/reminders" aria-label="Check the reminders: Otto Fehr"`,
    );
    expect(await read(ada.get('/'))).toMatch(
      /Not delivered [^:]+, 11:00 AM, email for Ada Brandt \(Weekly summary\): see the service log. Mark as seen/,
    );
    expect(await read(eve.get('/')), 'another clinic').not.toContain('Not delivered');
    const alarm = 'email for Otto Fehr (It is time for the session): there is no such email address.';
    const line =
      /Not delivered: there is no such email address. [^.]+, 11:00 AM, Otto Fehr, email: It is time for the session./;
    expect(await pageOf(path)).toContain(alarm);
    expect(await pageOf(path), 'in the list of what was sent too').toMatch(line);
    expect((await ben.submit(`${path}/reminders/seen`, {})).status).toBe(403);
    expect((await eve.submit(`${path}/reminders/seen`, {})).status).toBe(404);
    expect((await ada.submit(`${path}/reminders/seen`, {})).status).toBe(303);
    expect(await pageOf(path)).not.toContain(alarm);
    expect(await pageOf(path), 'it stays in the list').toMatch(line);
    expect(await html('/')).not.toContain('Check the reminders: Otto Fehr');
    expect((await ben.submit('/deliveries/seen', {})).status).toBe(403);
    expect((await eve.submit('/deliveries/seen', {})).status, 'her own, of which there are none').toBe(303);
    expect(await read(ada.get('/'))).toContain('Not delivered');
    expect((await ada.submit('/deliveries/seen', {})).status).toBe(303);
    expect(await read(ada.get('/'))).not.toContain('Not delivered');
  });

  it('has words for every reason that there is', async () => {
    const words = await openWords();
    for (const why of channelFailureReasons) expect(words.channelFailureReasons[why], why).toBeDefined();
    for (const why of unsentReasons) expect(words.unsent[why], why).toBeDefined();
    const codes = Object.keys(words.channelFailureReasons);
    expect(
      codes.filter((code) => !channelFailureReasons.some((why) => why === code)),
      'words for nothing',
    ).toEqual([]);
  });
});

describe('the week by email', () => {
  it('comes to whoever asks for it, also to those who may only read', async () => {
    for (const who of [ada, ben]) {
      expect(await read(who.get('/account'))).toContain('Weekly summary Off.');
      expect((await who.submit('/account/digest', { wants: 'yes' })).status).toBe(303);
      expect(await read(who.get('/account'))).toContain('Weekly summary On.');
    }
    expect(await read(eve.get('/account')), 'nobody else').toContain('Weekly summary Off.');
    expect((await ada.submit('/account/digest', {})).status).toBe(303);
    expect(await read(ada.get('/account'))).toContain('Weekly summary Off.');
    expect(await read(ada.get('/records'))).toContain('Weekly summary turned on');
  });
});
