import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { superseded } from '../../src/reminders/runner.js';
import { watchSending } from '../../src/reminders/watchdog.js';
import { readMessages } from '../../src/session/readClinicWords.js';
import type { Store } from '../../src/store/engine/openStore.js';
import { openSqliteStore } from '../store/databases.js';
import { makeClinic } from '../store/people.js';
import { recordingChannel, templates } from './world.js';

describe('a watch on sending', () => {
  let store: Store;
  let close: () => Promise<void>;
  beforeEach(async () => {
    const opened = await openSqliteStore();
    ({ store, close } = opened);
    await store.write((db) => makeClinic(db, 0));
  });
  afterEach(async () => {
    vi.useRealTimers();
    await close();
  });

  it('tells owners by mail within twenty seconds, once a day, also when the database cannot be asked any more', async () => {
    const messages = await readMessages(templates);
    const owner = await store.read((db) =>
      db.selectFrom('clinician').select('email').where('role', '=', 'owner').executeTakeFirstOrThrow(),
    );
    vi.useFakeTimers({ toFake: ['setInterval', 'clearInterval', 'performance'] });
    let still: string[] = [];
    let isGone = false;
    const failing: Store = {
      ...store,
      read: (work) => (isGone ? Promise.reject(new Error('no such column')) : store.read(work)),
    };
    const mail = recordingChannel(() => performance.now());
    const told: string[] = [];
    const end = watchSending({
      ...{ store: failing, messages, address: 'https://clinic.example.org', standsStill: () => still },
      channels: new Map([['mail', mail.channel]]),
      onFailure: (what) => told.push(what),
    });
    await vi.advanceTimersByTimeAsync(600_000);
    expect(mail.sent).toEqual([]);
    isGone = true;
    still = ['warnings not sent'];
    await vi.advanceTimersByTimeAsync(10_000);
    expect(mail.sent, 'a machine that has just woken needs a moment').toEqual([]);
    await vi.advanceTimersByTimeAsync(10_000);
    await vi.waitFor(() => expect(mail.sent).toHaveLength(1));
    expect(mail.sent[0]).toMatchObject({ to: owner.email, subject: 'Warning signs are not being sent' });
    expect(told).toEqual(['warnings not sent']);
    await vi.advanceTimersByTimeAsync(3_600_000);
    expect(mail.sent, 'not every minute').toHaveLength(1);
    await vi.advanceTimersByTimeAsync(23 * 3_600_000);
    await vi.waitFor(() => expect(mail.sent).toHaveLength(2));
    still = [];
    await vi.advanceTimersByTimeAsync(60_000);
    still = ['reminders not sent'];
    await vi.advanceTimersByTimeAsync(20_000);
    await vi.waitFor(() => expect(mail.sent).toHaveLength(3));
    expect(mail.sent[2]?.subject).toBe('Reminders are not being sent');
    still = [];
    await vi.advanceTimersByTimeAsync(60_000);
    still = [superseded];
    await vi.advanceTimersByTimeAsync(20_000);
    await vi.waitFor(() => expect(mail.sent).toHaveLength(4));
    expect(mail.sent[3]?.subject, 'by nobody').toBe('Warning signs are not being sent');
    await end();
  });

  it('waits for no database that hangs: the mail goes to the owners who were known before', async () => {
    const messages = await readMessages(templates);
    vi.useFakeTimers({
      toFake: ['setInterval', 'clearInterval', 'setTimeout', 'clearTimeout', 'performance'],
    });
    let still: string[] = [];
    let asked = 0;
    let hangs = false;
    const hanging: Store = {
      ...store,
      read: (work) => {
        if (!hangs) return store.read(work);
        asked += 1;
        return new Promise(() => undefined);
      },
    };
    const mail = recordingChannel(() => performance.now());
    const end = watchSending({
      ...{ store: hanging, messages, address: 'https://clinic.example.org', standsStill: () => still },
      channels: new Map([['mail', mail.channel]]),
      onFailure: () => undefined,
    });
    await vi.advanceTimersByTimeAsync(60_000);
    hangs = true;
    // What nobody has seen a sign of for 35 s stands still: from then on a mail has 25 s.
    still = ['warnings not sent'];
    await vi.advanceTimersByTimeAsync(20_000);
    expect(mail.sent).toHaveLength(1);
    await vi.advanceTimersByTimeAsync(3_600_000);
    expect(mail.sent).toHaveLength(1);
    expect(asked, 'what hangs is not piled up').toBe(1);
    const ended = end();
    // A look that is under way waits for its five seconds.
    await vi.advanceTimersByTimeAsync(5_000);
    await ended;
  });
});
