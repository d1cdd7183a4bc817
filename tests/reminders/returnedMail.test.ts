import { chmod, chown, mkdir, mkdtemp, readdir, rm, stat, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { sql } from 'kysely';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { messageIdOf } from '../../src/channels/messageId.js';
import { queueReturnedMail } from '../../src/reminders/returnedMail.js';
import { attentionOf } from '../../src/store/attention/attention.js';
import { damage, damages } from '../damage.js';
import { openSqliteStore } from '../store/databases.js';
import { firstDay, openWorld, type World } from './world.js';

/** As in RFC 3464, appendix A, shortened. */
function notice(messageId: string, status: string): Buffer {
  return Buffer.from(
    [
      'From: MAILER-DAEMON@mail.example',
      'To: clinic@example.org',
      'Subject: Undelivered Mail Returned to Sender',
      'MIME-Version: 1.0',
      'Content-Type: multipart/report; report-type=delivery-status; boundary="part"',
      '',
      '--part',
      'Content-Type: text/plain',
      '',
      'Your message could not be delivered.',
      '',
      '--part',
      'Content-Type: message/delivery-status',
      '',
      'Reporting-MTA: dns; mail.example',
      '',
      'Final-Recipient: rfc822; rosa@example.org',
      'Action: failed',
      `Status: ${status}`,
      '',
      '--part',
      'Content-Type: text/rfc822-headers',
      '',
      `Message-ID: ${messageId}`,
      'Subject: It is time for your session',
      '',
      '--part--',
      '',
    ].join('\r\n'),
  );
}

describe('mail that came back', () => {
  let world: World;
  let folder: string;
  let close: () => Promise<void>;
  beforeEach(async () => {
    folder = await mkdtemp(join(tmpdir(), 'stillcount-returned-'));
    const opened = await openSqliteStore();
    close = opened.close;
    world = await openWorld(opened.store, folder);
    await world.agree('reminders');
    await world.prescribe();
    await world.runAt(firstDay, '08:00');
    await world.runAt(firstDay, '09:00');
  });
  afterEach(async () => {
    await close();
    await rm(folder, { recursive: true, force: true });
  });

  it('ends an address that is no more, and shows on the home page', async () => {
    const [sent] = world.sent;
    expect(
      await queueReturnedMail(folder, notice(messageIdOf(sent?.key ?? '', 'example.org'), '5.1.1')),
    ).toBe(true);
    expect(await world.runner.takeReturnedMail()).toBe(1);
    expect(await readdir(join(folder, 'returned-mail')), 'taken in once').toEqual([]);
    const failed = (await world.deliveries()).find(({ slot }) => slot === `${firstDay}#1`);
    expect(failed).toMatchObject({ state: 'failed', why: 'mail-no-such-address' });
    const { first } = await world.store.read((db) => attentionOf(db, world.clinicId, 10));
    expect(first.map(({ kind }) => kind)).toEqual(['not-delivered']);
    await world.runAt('2026-12-01', '09:00');
    expect(world.sent).toHaveLength(1);
  });

  it('fails only that message when the mailbox was full', async () => {
    const [sent] = world.sent;
    await queueReturnedMail(folder, notice(messageIdOf(sent?.key ?? '', 'example.org'), '5.2.2'));
    await world.runner.takeReturnedMail();
    await world.runAt('2026-12-01', '09:00');
    expect(world.sent).toHaveLength(2);
  });

  it('is nothing when it is about something else, or was made up', async () => {
    expect(await queueReturnedMail(folder, notice('<somebody@else.example>', '5.1.1'))).toBe(false);
    expect(await queueReturnedMail(folder, Buffer.from('Subject: hello\r\n\r\nhello'))).toBe(false);
    const unknown = messageIdOf('0b4b4bb4-7a0c-4b62-9d0f-3a4a6a5c1c11', 'example.org');
    expect(await queueReturnedMail(folder, notice(unknown, '5.1.1'))).toBe(true);
    await writeFile(join(folder, 'returned-mail', 'broken.json'), '{');
    expect(await world.runner.takeReturnedMail()).toBe(2);
    expect(await readdir(join(folder, 'returned-mail'))).toEqual([]);
    expect((await world.deliveries()).map(({ state }) => state)).not.toContain('failed');
  });

  it('holds up no other when its note is damaged in any way, and changes nothing then', async () => {
    const notes = join(folder, 'returned-mail');
    const unknown = messageIdOf('0b4b4bb4-7a0c-4b62-9d0f-3a4a6a5c1c11', 'example.org');
    for (const each of damages) {
      await queueReturnedMail(folder, notice(unknown, '5.1.1'));
      const [name = ''] = await readdir(notes);
      await damage(join(notes, name), each, Buffer.from('{"key":"k"}'));
      await queueReturnedMail(folder, notice(unknown, '5.1.1'));
      await world.runner.takeReturnedMail();
      // What may not be read stays until it may.
      for (const left of await readdir(notes)) await chmod(join(notes, left), 0o600);
      await world.runner.takeReturnedMail();
      expect(await readdir(notes), each.name).toEqual([]);
    }
    expect((await world.deliveries()).map(({ state }) => state)).not.toContain('failed');
  });

  it('stays when it cannot be read now, says so, and holds up no other', async () => {
    const notes = join(folder, 'returned-mail');
    const unknown = messageIdOf('0b4b4bb4-7a0c-4b62-9d0f-3a4a6a5c1c11', 'example.org');
    const [sent] = world.sent;
    await queueReturnedMail(folder, notice(unknown, '5.1.1'));
    // Whoever is allowed everything cannot read round a circle either.
    await symlink('held.json', join(notes, 'held.json'));
    expect(await world.runner.takeReturnedMail(), 'the other one').toBe(1);
    expect(await readdir(notes)).toEqual(['held.json']);
    expect(world.failures).toEqual([expect.objectContaining({ code: 'ELOOP' })]);
    await rm(join(notes, 'held.json'));
    const itself = notice(messageIdOf(sent?.key ?? '', 'example.org'), '5.1.1');
    await queueReturnedMail(folder, itself);
    expect(await world.runner.takeReturnedMail()).toBe(1);
    expect((await world.deliveries()).map(({ state }) => state)).toContain('failed');
  });

  it('is left for the newer version that has upgraded the database', async () => {
    const [sent] = world.sent;
    await queueReturnedMail(folder, notice(messageIdOf(sent?.key ?? '', 'example.org'), '5.1.1'));
    const later = sql`insert into kysely_migration values ('9999-from-later', '2030-01-01')`;
    await world.store.write((db) => later.execute(db));
    expect(await world.runner.takeReturnedMail()).toBe(0);
    expect(await readdir(join(folder, 'returned-mail'))).toHaveLength(1);
    expect((await world.deliveries()).map(({ state }) => state)).not.toContain('failed');
    expect(world.failures).toEqual([]);
  });

  // Only who may act for every user can leave it for another one.
  it.skipIf(process.getuid?.() !== 0)('is left for the user who runs the service', async () => {
    const [own, uid] = [join(folder, 'of another user'), 12_345];
    await mkdir(own);
    await chown(own, uid, uid);
    const unknown = messageIdOf('0b4b4bb4-7a0c-4b62-9d0f-3a4a6a5c1c11', 'example.org');
    expect(await queueReturnedMail(own, notice(unknown, '5.1.1'))).toBe(true);
    const notes = join(own, 'returned-mail');
    const [name = ''] = await readdir(notes);
    const owners = await Promise.all([notes, join(notes, name)].map(async (path) => (await stat(path)).uid));
    expect(owners).toEqual([uid, uid]);
  });
});
