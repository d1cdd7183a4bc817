import type { Selectable } from 'kysely';
import type { Db } from '../engine/openStore.js';
import { programChecksum, screeningChecksum, versionChecksum } from '../schema/migrations/signedChecksums.js';
import type { PrescriptionState } from '../schema/prescribingSchema.js';
import type { Database } from '../schema/schema.js';

/**
 * Signed data, read together with the checksum written when it was signed. Data that does not match its checksum never
 * leaves the store: it is not played, printed, reminded of, advised on or shown. This protects against damage, not
 * against someone with write access to the database.
 *
 * Covered are the versions of programs, the current version and status of each program, and the precaution interviews;
 * that is, everything that decides which exercises and doses are played. Resolved precautions and clearances are part
 * of the version. Names, addresses, reminder times, and what was heard, reported and measured are not covered.
 */

/** The damaged part of a signed version: the version itself, or its program, which says which version is current. */
export type Damage = 'version' | 'program';

/** The damaged part, in words for the log and an owner's home page. */
export const damagedParts = {
  version: 'a signed version of a program',
  program: 'the record of a program',
  screening: 'an interview about precautions',
} as const satisfies Record<Damage | 'screening', string>;

/** The columns of a program covered by its checksum. */
export const programColumns = [
  'prescription.id as id',
  'prescription.patientId as patientId',
  'prescription.title as title',
  'prescription.state as state',
  'prescription.newestVersion as newestVersion',
  'prescription.createdAtMs as createdAtMs',
  'prescription.checksum as programChecksum',
] as const;

/** The columns of a version, in a table named `version`, covered by its checksum. */
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
/** As an outer join returns it: a missing version has only nulls. */
export type VersionFactsOrNone = { [Key in keyof VersionFacts]: VersionFacts[Key] | null };

/** Every program with its newest version, which a damaged database may lack; a query to be filtered. */
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

/** Whether a program matches what the service last wrote. */
export function isWholeProgram({ programChecksum: kept, ...row }: ProgramFacts): boolean {
  return programChecksum(row) === kept;
}

/**
 * Whether a program is active, paused or ended. A damaged one may be active: it counts as active, is not played, and so
 * appears wherever an unplayable program does.
 */
export function readProgramState(row: ProgramFacts): PrescriptionState {
  return isWholeProgram(row) ? row.state : 'active';
}

/** The content of a version as it was signed; null with the damaged part. */
export type SignedContent = { content: string; damage: null } | { content: null; damage: Damage };

/** Returns the content of a version only if it matches what was signed. */
export function verifySignedContent(program: ProgramFacts, version: VersionFactsOrNone): SignedContent {
  const { number, content, screeningId, reason, signedBy, signedAtMs } = version;
  if (!isWholeProgram(program) || number === null) return { content: null, damage: 'program' };
  const damaged: SignedContent = { content: null, damage: 'version' };
  if (content === null || reason === null || signedBy === null || signedAtMs === null) return damaged;
  const { id: prescriptionId, patientId } = program;
  const row = { prescriptionId, patientId, number, content, screeningId, reason, signedBy, signedAtMs };
  return versionChecksum(row) === version.checksum ? { content, damage: null } : damaged;
}

/** Whether an interview matches what was recorded. */
export function isWholeScreening({ checksum, ...row }: Selectable<Database['screening']>): boolean {
  return screeningChecksum(row) === checksum;
}
