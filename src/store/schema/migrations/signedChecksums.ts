import { createHash } from 'node:crypto';

/** What a column holds in either database; some drivers hand whole numbers out as bigints. */
type Field = string | number | bigint | null;

/** A row of `prescription`: whose it is, whether it runs, and which version is in force. */
export type ProgramRow = {
  id: string;
  patientId: string;
  title: string;
  state: string;
  newestVersion: number;
  createdAtMs: number;
};

/** A row of `prescriptionVersion`, with the patient of its program. */
export type VersionRow = {
  prescriptionId: string;
  patientId: string;
  number: number;
  content: string;
  screeningId: string | null;
  reason: string;
  signedBy: string;
  signedAtMs: number;
};

/** A row of `screening`. */
export type ScreeningRow = {
  id: string;
  patientId: string;
  number: number;
  answers: string;
  stops: number;
  clinicianId: string;
  atMs: number;
};

/**
 * The checksums of what a clinician signed or took down. They tell of damage: a worn-out disk, a page that was torn, a
 * hand that slipped in a shell. They are no signature and keep nobody out who may write to the database, and who can
 * work a checksum out as well.
 *
 * Once the step beside it is released, a checksum means this for ever; another way to work it out is another step.
 */
export function programChecksum(row: ProgramRow): string {
  return checksumOf('program', [
    row.id,
    row.patientId,
    row.title,
    row.state,
    row.newestVersion,
    row.createdAtMs,
  ]);
}

/** The same of a signed version: all that a session, a handout and the rules are made of, and whose it is. */
export function versionChecksum(row: VersionRow): string {
  return checksumOf('version', [
    row.prescriptionId,
    row.patientId,
    row.number,
    row.content,
    row.screeningId,
    row.reason,
    row.signedBy,
    row.signedAtMs,
  ]);
}

/** The same of an interview about precautions. */
export function screeningChecksum(row: ScreeningRow): string {
  return checksumOf('screening', [
    row.id,
    row.patientId,
    row.number,
    row.answers,
    row.stops,
    row.clinicianId,
    row.atMs,
  ]);
}

/**
 * SHA-256 over the fields in their order, each with its kind and its length in bytes before it, so that no two lists of
 * fields are the same bytes. JSON is taken as the text that it is kept as, which neither database reads or writes
 * anew: no order of keys and no way to write a number is in play. Text is UTF-8, as both keep it; half of a surrogate
 * pair, which neither gives back as it was, is to be replaced before it is written.
 */
function checksumOf(kind: string, fields: readonly Field[]): string {
  const hash = createHash('sha256').update(`stillcount-signed/1 ${kind}\n`);
  for (const field of fields) {
    if (field === null) {
      hash.update('none\n');
      continue;
    }
    const bytes = Buffer.from(String(field), 'utf8');
    hash.update(`${typeof field === 'string' ? 'text' : 'number'} ${bytes.length}\n`).update(bytes);
  }
  return hash.digest('hex');
}
