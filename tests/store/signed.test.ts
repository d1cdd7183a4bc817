import fc from 'fast-check';
import { sql } from 'kysely';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { attentionOf } from '../../src/store/attention/attention.js';
import { findUnplayable, refreshAttention } from '../../src/store/attention/patientChanged.js';
import type { Store } from '../../src/store/engine/openStore.js';
import {
  activeProgramsOf,
  newestScreening,
  prescriptionById,
  prescriptionsOf,
  versionsOf,
} from '../../src/store/people/chart.js';
import { listRunningVersions, saveUnplayable } from '../../src/store/prescribing/notPlayed.js';
import { changeState, createPrescription, signVersion } from '../../src/store/prescribing/prescriptions.js';
import { verifySigned } from '../../src/store/prescribing/verifySigned.js';
import { readSendingFacts } from '../../src/store/reminding/readSendingFacts.js';
import { type VersionRow, versionChecksum } from '../../src/store/schema/migrations/signedChecksums.js';
import { addScreening } from '../../src/store/screening/screenings.js';
import { databases, openSqliteStore } from './databases.js';
import { makeClinic, makePatient } from './people.js';

const now = Date.UTC(2026, 10, 25);

/** Text as both databases take it: PostgreSQL keeps no U+0000. */
const anyText = fc.string({ unit: 'binary', maxLength: 12 }).map((text) => text.replaceAll('\u0000', ''));
/** What only a mistake would hand in: half of a surrogate pair. */
const anyReason = fc.oneof(anyText, fc.constantFrom('half \ud83d of a pair', 'caf\u00e9', 'cafe\u0301', ''));
const anyContent = fc
  .jsonValue({ maxDepth: 3, noUnicodeString: false })
  .map((value) => JSON.stringify(value));

/** Every text that differs from a JSON text in one leaf. */
function changedLeaves(text: string): string[] {
  const changed = (value: unknown): unknown[] => {
    if (typeof value === 'number') return [value === 0 ? 1 : -value];
    if (typeof value === 'string') return [`${value}x`];
    if (typeof value === 'boolean') return [!value];
    if (value === null) return [0];
    if (Array.isArray(value)) {
      return value.flatMap((each, index) => changed(each).map((other) => value.with(index, other)));
    }
    return Object.entries(Object(value)).flatMap(([key, each]) =>
      changed(each).map((other) => ({ ...Object(value), [key]: other })),
    );
  };
  return changed(JSON.parse(text)).map((value) => JSON.stringify(value));
}

describe('the checksum of what was signed', () => {
  const row: VersionRow = {
    ...{ prescriptionId: 'p', patientId: 'q', number: 2, content: '{"holdSeconds":5}', screeningId: null },
    ...{ reason: 'Fester, länger', signedBy: 'ada', signedAtMs: 1_764_028_800_000 },
  };

  it('is SHA-256 of a form that stands here byte by byte', () => {
    // Worked out with sha256sum (GNU coreutils 9.1) from the bytes that `printf` wrote:
    // stillcount-signed/1 version\ntext 1\nptext 1\nqnumber 1\n2text 17\n{"holdSeconds":5}none\n
    // text 15\nFester, l\xc3\xa4ngertext 3\nadanumber 13\n1764028800000 (without the line feed before "text 15")
    expect(versionChecksum(row)).toBe('00a23b40a04235e7fabe1f6fb0edac955dab8399bc951748cb37c0dff91e6f03');
  });

  it('differs when anything differs, be it one leaf of the content', () => {
    fc.assert(
      fc.property(anyContent, anyReason, (content, reason) => {
        const signed = { ...row, content, reason };
        const sum = versionChecksum(signed);
        const others: VersionRow[] = [
          ...changedLeaves(content).map((other) => ({ ...signed, content: other })),
          { ...signed, prescriptionId: 'other' },
          { ...signed, patientId: 'other' },
          { ...signed, number: 3 },
          { ...signed, screeningId: 'none' },
          { ...signed, screeningId: '' },
          { ...signed, reason: `${reason}.` },
          { ...signed, signedBy: 'bob' },
          { ...signed, signedAtMs: signed.signedAtMs + 1 },
          // What moves from one field into the next is not the same.
          { ...signed, content: `${content}none`, screeningId: '' },
        ];
        for (const other of others) expect(versionChecksum(other)).not.toBe(sum);
      }),
    );
  });
});

describe.each(databases)('what was signed, in $name', (database) => {
  let store: Store;
  let close: () => Promise<void>;
  beforeAll(async () => {
    ({ store, close } = await database.open());
  });
  afterAll(() => close());

  it('comes back with the checksum that it was written with, whatever stands in it', async () => {
    const { clinicId, clinicianId } = await store.write((db) => makeClinic(db, now));
    const patientId = await store.write((db) => makePatient(db, clinicId, now));
    await fc.assert(
      fc.asyncProperty(anyContent, anyReason, anyText, async (content, reason, title) => {
        const signing = { title, content, screeningId: null, reason, signedBy: clinicianId, nowMs: now };
        const id = await store.write(async (db) => {
          const made = await createPrescription(db, patientId, signing);
          await signVersion(db, made, 1, { ...signing, content: `[${content}]` });
          await changeState(db, {
            ...{ prescriptionId: made, state: 'paused', clinicianId, reason, nowMs: now },
          });
          await addScreening(db, { patientId, answers: content, stops: false, clinicianId, nowMs: now });
          return made;
        });
        const versions = await store.read((db) => versionsOf(db, id));
        expect(versions.map((each) => [each.content, each.damage])).toEqual([
          [`[${content}]`, null],
          [content, null],
        ]);
        const { checksum } = await store.read((db) =>
          db
            .selectFrom('prescriptionVersion')
            .select('checksum')
            .where('prescriptionId', '=', id)
            .where('number', '=', 1)
            .executeTakeFirstOrThrow(),
        );
        const signed = { prescriptionId: id, patientId, number: 1, content, screeningId: null, reason };
        // The same in both databases: it is worked out here from what was handed in.
        expect(checksum).toBe(versionChecksum({ ...signed, signedBy: clinicianId, signedAtMs: now }));
        expect(await store.read((db) => prescriptionById(db, clinicId, id))).toMatchObject({
          state: 'paused',
        });
        expect(await store.read((db) => newestScreening(db, patientId))).toMatchObject({ answers: content });
      }),
      { numRuns: 12 },
    );
    const look = await store.read(verifySigned);
    expect(look).toMatchObject({ damagedPrograms: [], damagedScreenings: [] });
    expect([look.versions, look.screenings]).toEqual([2 * look.runningPrograms, look.runningPrograms]);
  });
});

describe('a signed program of which something was damaged', () => {
  let store: Store;
  let close: () => Promise<void>;
  let clinicId: string;
  let clinicianId: string;
  const signed = ['{"dose":5}', '{"dose":15}'];
  beforeAll(async () => {
    ({ store, close } = await openSqliteStore());
    ({ clinicId, clinicianId } = await store.write((db) => makeClinic(db, now)));
    // A worn-out disk asks no trigger and no reference.
    await store.read(async (db) => {
      for (const trigger of [
        'prescriptionVersionNeverupdate',
        'prescriptionVersionNeverdelete',
        'screeningNeverupdate',
      ])
        await sql`drop trigger ${sql.ref(trigger)}`.execute(db);
      await sql`pragma foreign_keys = off`.execute(db);
    });
  });
  afterAll(() => close());

  const signing = (content: string) => ({
    ...{ title: 'Mornings', content, screeningId: null, reason: 'Agreed', signedBy: clinicianId, nowMs: now },
  });
  const step = (prescriptionId: string, state: 'active' | 'paused' | 'ended') => ({
    ...{ prescriptionId, state, clinicianId, reason: 'r', nowMs: now },
  });
  const makeProgram = () =>
    store.write(async (db) => {
      const patientId = await makePatient(db, clinicId, now);
      const id = await createPrescription(db, patientId, signing(signed[0] ?? ''));
      await signVersion(db, id, 1, signing(signed[1] ?? ''));
      return { id, patientId };
    });
  const harm = (statement: string, id: string) =>
    store.read((db) => sql`${sql.raw(statement.replaceAll('ID', id))}`.execute(db));
  const ofVersion = (set: string) =>
    `update "prescriptionVersion" set ${set} where "prescriptionId" = 'ID' and "number" = 2`;
  const ofProgram = (set: string) => `update "prescription" set ${set} where "id" = 'ID'`;

  it('SIGN-7: takes no further version where the program itself is damaged', async () => {
    const { id } = await makeProgram();
    const whole = await store.write((db) => signVersion(db, id, 2, signing('{"dose":16}')));
    await harm(ofProgram(`"title" = 'Morning'`), id);
    const damaged = await store.write((db) => signVersion(db, id, 3, signing('{"dose":17}')));
    expect([whole, damaged]).toEqual([3, null]);
  });

  it.each([
    ['version', 'a digit of a dose', ofVersion(`"content" = replace("content", '15', '16')`)],
    ['version', 'JSON that is none', ofVersion(`"content" = substr("content", 2)`)],
    ['version', 'the content of the version before', ofVersion(`"content" = '{"dose":5}'`)],
    ['version', 'why', ofVersion(`"reason" = 'Agree'`)],
    ['version', 'who signed', ofVersion(`"signedBy" = 'nobody'`)],
    ['version', 'when', ofVersion('"signedAtMs" = "signedAtMs" + 1')],
    ['version', 'the interview', ofVersion(`"screeningId" = 'x'`)],
    ['version', 'the checksum', ofVersion(`"checksum" = ''`)],
    [
      'program',
      'the newest version, gone',
      `delete from "prescriptionVersion" where "prescriptionId" = 'ID' and "number" = 2`,
    ],
    ['program', 'which version is in force', ofProgram('"newestVersion" = 1')],
    ['program', 'the title', ofProgram(`"title" = 'Morning'`)],
    ['program', 'that it has ended', ofProgram(`"state" = 'ended'`)],
    ['program', 'a state that is none', ofProgram(`"state" = 'actixe'`)],
  ] as const)(
    '(%s: %s) counts as one that runs and cannot be played, everywhere',
    async (damage, _what, statement) => {
      const { id, patientId } = await makeProgram();
      await harm(statement, id);
      const versions = await store.read((db) => versionsOf(db, id));
      expect(versions[0]).toMatchObject({ content: null, damage });
      for (const { number, content } of versions) expect([signed[number - 1], null]).toContain(content);
      expect(await store.read((db) => activeProgramsOf(db, patientId))).toMatchObject([
        { id, content: null, damage },
      ]);
      const listed = await store.read((db) => prescriptionsOf(db, clinicId, patientId));
      expect(listed).toMatchObject([{ id, state: 'active' }]);
      const { running } = await store.read((db) => listRunningVersions(db, '', 1_000));
      expect(running.find(({ prescriptionId }) => prescriptionId === id)).toMatchObject({
        content: null,
        damage,
      });
      const asked = { contactIds: [], patientIds: [patientId], prescriptionIds: [id] };
      const facts = await store.read((db) => readSendingFacts(db, asked, { sinceMs: now, nowMs: now }));
      if (damage === 'version' || versions.length === 2) expect([...facts.notPlayed.keys()]).toEqual([id]);
      await store.write((db) => saveUnplayable(db, patientId, { prescriptionIds: [id], nowMs: now }));
      expect([...(await store.read((db) => findUnplayable(db, [patientId]))).keys()]).toEqual([id]);
      expect((await store.read(verifySigned)).damagedPrograms).toContain(id);
      expect(await store.write((db) => changeState(db, step(id, 'active'))), 'resumed').toBe(false);
      const next = await store.write((db) => signVersion(db, id, 2, signing('{"dose":6}')));
      if (damage === 'version') {
        expect(next, 'signed anew').toBe(3);
        expect((await store.read((db) => activeProgramsOf(db, patientId)))[0]?.content).toBe('{"dose":6}');
        return;
      }
      if (next === null) expect((await store.read((db) => versionsOf(db, id)))[0]?.content).toBeNull();
      expect(await store.write((db) => changeState(db, step(id, 'ended'))), 'ended').toBe(true);
      expect(await store.read((db) => prescriptionById(db, clinicId, id))).toMatchObject({ state: 'ended' });
      expect(await store.read((db) => activeProgramsOf(db, patientId))).toEqual([]);
    },
  );

  it('that was paused, and says that it runs, is not played either', async () => {
    const { id, patientId } = await makeProgram();
    await store.write((db) => changeState(db, step(id, 'paused')));
    await harm(ofProgram(`"state" = 'active'`), id);
    expect(await store.read((db) => activeProgramsOf(db, patientId))).toMatchObject([{ content: null }]);
  });

  it('is found in a row of another patient too', async () => {
    const [one, other] = [await makeProgram(), await makeProgram()];
    await harm(ofProgram(`"patientId" = '${other.patientId}'`), one.id);
    const programs = await store.read((db) => activeProgramsOf(db, other.patientId));
    expect(programs.find(({ id }) => id === one.id)).toMatchObject({ content: null, damage: 'program' });
    expect(programs.find(({ id }) => id === other.id)?.content).toBe(signed[1]);
  });

  it.each([`"answers" = '{"osteoporosis":"no"}'`, '"stops" = 0', `"clinicianId" = 'nobody'`])(
    'an interview (%s) is not used, and the patient is to be screened anew',
    async (set) => {
      const patientId = await store.write((db) => makePatient(db, clinicId, now));
      const answered = { patientId, answers: '{"osteoporosis":"yes"}', stops: true, clinicianId, nowMs: now };
      const id = await store.write((db) => addScreening(db, answered));
      await harm(`update "screening" set ${set} where "id" = 'ID'`, id);
      expect(await store.read((db) => newestScreening(db, patientId))).toMatchObject({ answers: null });
      await store.write((db) => refreshAttention(db, patientId));
      const reasons = async () => {
        const { first } = await store.read((db) => attentionOf(db, clinicId, 1_000));
        return first.filter((each) => each.patientId === patientId);
      };
      const found = await reasons();
      expect(found).toMatchObject([{ kind: 'screening-damaged' }]);
      expect(found[0]?.sinceMs, 'when it was found, not when the patient came').not.toBe(now);
      await store.write((db) => refreshAttention(db, patientId));
      expect(await reasons(), 'and still then').toEqual(found);
      expect((await store.read(verifySigned)).damagedScreenings).toContain(id);
    },
  );
});
