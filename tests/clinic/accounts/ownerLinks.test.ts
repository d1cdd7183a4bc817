import { mkdtemp, readdir, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import {
  type OwnerLinkParts,
  queueOwnerLink,
  watchOwnerLinks,
} from '../../../src/clinic/accounts/ownerLinks.js';
import { hashToken, newToken } from '../../../src/clinic/tokens.js';
import { openReminderSecrets } from '../../../src/reminders/secrets.js';
import { findAccountLink, isKnownAccountLink } from '../../../src/store/accounts/accountLinks.js';
import { openStore, type Store } from '../../../src/store/engine/openStore.js';
import { damage, damages } from '../../damage.js';
import { makeClinic } from '../../store/people.js';

const nowMs = Date.UTC(2026, 10, 25, 9);
let folder: string;
let store: Store;
let parts: OwnerLinkParts;
let clinicianId: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-owner-links-'));
  store = await openStore({ kind: 'sqlite', file: join(folder, 'clinic.db') });
  const reminderSecrets = await openReminderSecrets(store, nowMs);
  parts = { store, reminderSecrets, sendsMail: true, now: () => nowMs };
  ({ clinicianId } = await store.write((db) => makeClinic(db, nowMs)));
});
afterAll(async () => {
  await store.close();
  await rm(folder, { recursive: true, force: true });
});

const left = () => readdir(join(folder, 'owner-links'));
/** @returns the hash of its token, and the file in which it waits */
async function leave(): Promise<{ tokenHash: string; file: string }> {
  const before: readonly string[] = await left().catch(() => []);
  const tokenHash = hashToken(newToken());
  await queueOwnerLink(folder, { tokenHash, clinicianId, clearsSecondStep: true, atMs: nowMs });
  const [name = ''] = (await left()).filter((each) => !before.includes(each));
  return { tokenHash, file: join(folder, 'owner-links', name) };
}
const isKept = (tokenHash: string) => store.read((db) => isKnownAccountLink(db, tokenHash));
const countLinks = async () =>
  (await store.read((db) => db.selectFrom('accountLink').selectAll().execute())).length;

it('takes a note that is damaged in any way for no link, and holds up no other for it', async () => {
  const failures: string[] = [];
  for (const each of damages) {
    const before = await countLinks();
    const [damaged, whole] = [await leave(), await leave()];
    await damage(damaged.file, each, await readFile(whole.file));
    const end = await watchOwnerLinks(folder, parts, (what) => failures.push(what));
    await end();
    expect(await left(), each.name).toEqual([]);
    // Whoever may read everything reads it all the same; it is right then.
    const isRead = each.name === 'not readable' && process.getuid?.() === 0;
    expect([await isKept(damaged.tokenHash), await isKept(whole.tokenHash)], each.name).toEqual([
      isRead,
      true,
    ]);
    expect((await countLinks()) - before, `${each.name}: nothing but what was left`).toBe(isRead ? 2 : 1);
    const last = await store.read((db) => findAccountLink(db, whole.tokenHash, nowMs));
    if (!isRead) expect(last, each.name).toMatchObject({ clinicianId, clearsSecondStep: true });
  }
  expect(failures).toEqual([]);
});
