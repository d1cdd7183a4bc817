import type { Selectable } from 'kysely';
import type { Db } from '../engine/openStore.js';
import { programChecksum, screeningChecksum, versionChecksum } from '../schema/migrations/signedChecksums.js';
import type { PrescriptionState } from '../schema/prescribingSchema.js';
import type { Database } from '../schema/schema.js';

/**
 * What was signed, read with the checksum that was written when it was. What does not agree with its checksum is never
 * handed out of this room: not to be played, printed, reminded of, advised on or shown. It is protection against
 * damage, not against someone who may write to the database.
 *
 * Covered are the versions of programs, what says which version is in force and whether it runs, and the interviews
 * about precautions; that is, all that decides which exercises and doses are played. Settled precautions and clearances
 * stand in the version. Names, addresses, times of reminders, and what was heard, reported and measured are not.
 */

/** What is damaged about a signed version: itself, or the program that it is of, which says what is in force. */
export type Damage = 'version' | 'program';

/** What is damaged, in words that stand in the log and on an owner's first page. */
export const damagedParts = {
  version: 'a signed version of a program',
  program: 'the record of a program',
  screening: 'an interview about precautions',
} as const satisfies Record<Damage | 'screening', string>;

/** The columns of a program that its checksum covers. */
export const programColumns = [
  'prescription.id as id',
  'prescription.patientId as patientId',
  'prescription.title as title',
  'prescription.state as state',
  'prescription.newestVersion as newestVersion',
  'prescription.createdAtMs as createdAtMs',
  'prescription.checksum as programChecksum',
] as const;

/** The columns of a version, where its table is called `version`, that its checksum covers. */
export const versionColumns = [
  'version.number as number',
  'version.content as content',
  'version.screeningId as screeningId',
  'version.reason as reason',
  'version.signedBy as signedBy',
  'version.signedAtMs as signedAtMs',
  'version.checksum as checksum',
] as const;

export type ProgramFacts = Omit<Selectable<Database['prescription']>, 'workId' | 'checksum'> & {
  programChecksum: string;
};

type VersionFacts = Omit<Selectable<Database['prescriptionVersion']>, 'prescriptionId'>;
/** As an outer join gives it: a version that is gone has nothing. */
export type VersionFactsOrNone = { [Key in keyof VersionFacts]: VersionFacts[Key] | null };

/** Every program beside its newest version, which a damaged database may lack; a query to be narrowed. */
export function programsWithNewest(db: Db) {
  return db
    .selectFrom('prescription')
    .leftJoin('prescriptionVersion as version', (join) =>
      join
        .onRef('version.prescriptionId', '=', 'prescription.id')
        .onRef('version.number', '=', 'prescription.newestVersion'),
    )
    .select(programColumns)
    .select(versionColumns);
}

/** Whether a program is what the service wrote last. */
export function isWholeProgram({ programChecksum: kept, ...row }: ProgramFacts): boolean {
  return programChecksum(row) === kept;
}

/**
 * Whether a program runs, has been paused or has ended. One that is damaged may run for all that is known: it counts
 * as one that does, is not played, and so is told of wherever a program that cannot be played is.
 */
export function readProgramState(row: ProgramFacts): PrescriptionState {
  return isWholeProgram(row) ? row.state : 'active';
}

/** The content of a version as it was signed; null with what is damaged. */
export type SignedContent = { content: string; damage: null } | { content: null; damage: Damage };

/** Hands the content of a version out only when it is what was signed. */
export function verifySignedContent(program: ProgramFacts, version: VersionFactsOrNone): SignedContent {
  const { number, content, screeningId, reason, signedBy, signedAtMs } = version;
  if (!isWholeProgram(program) || number === null) return { content: null, damage: 'program' };
  const damaged: SignedContent = { content: null, damage: 'version' };
  if (content === null || reason === null || signedBy === null || signedAtMs === null) return damaged;
  const { id: prescriptionId, patientId } = program;
  const row = { prescriptionId, patientId, number, content, screeningId, reason, signedBy, signedAtMs };
  return versionChecksum(row) === version.checksum ? { content, damage: null } : damaged;
}

/** Whether an interview is what was recorded. */
export function isWholeScreening({ checksum, ...row }: Selectable<Database['screening']>): boolean {
  return screeningChecksum(row) === checksum;
}

/** Writes the checksum of a program's row as it now is. Run it in the transaction that has changed the row. */
export async function sealProgram(db: Db, row: Omit<ProgramFacts, 'programChecksum'>): Promise<void> {
  await db
    .updateTable('prescription')
    .set({ checksum: programChecksum(row) })
    .where('id', '=', row.id)
    .execute();
}
