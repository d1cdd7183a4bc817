import type { Generated } from 'kysely';

/** The tables of programs; the rules of {@link Database} apply. */
export interface PrescribingTables {
  clinicProgram: ClinicProgramTable;
  prescription: PrescriptionTable;
  prescriptionVersion: PrescriptionVersionTable;
  prescriptionState: PrescriptionStateTable;
  notPlayable: NotPlayableTable;
  draft: DraftTable;
}

export const prescriptionStates = ['active', 'paused', 'ended'] as const;
export type PrescriptionState = (typeof prescriptionStates)[number];

/** A clinic program. */
interface ClinicProgramTable {
  id: string;
  clinicId: string;
  title: string;
  /** JSON of a program, without a listener. */
  content: string;
  clinicianId: string;
  createdAtMs: number;
  endedAtMs: number | null;
}

interface PrescriptionTable {
  id: string;
  patientId: string;
  title: string;
  state: PrescriptionState;
  /** The number of the newest version. */
  newestVersion: number;
  /** Identifies the draft it comes from, so that sending it twice creates it once; null for older ones. */
  workId: string | null;
  createdAtMs: number;
  /** The checksum of the row as the service last wrote it; a mismatch means damage. */
  checksum: string;
}

/** Append-only. */
interface PrescriptionVersionTable {
  prescriptionId: string;
  number: number;
  /** JSON of a prescription's content. */
  content: string;
  /** The interview that it was signed on; null for those from before there was one. */
  screeningId: string | null;
  reason: string;
  signedBy: string;
  signedAtMs: number;
  /** The checksum of what was signed; a mismatch means damage. */
  checksum: string;
}

/** Append-only: when a prescription was paused, resumed or ended, by whom and why. */
interface PrescriptionStateTable {
  id: string;
  prescriptionId: string;
  state: PrescriptionState;
  clinicianId: string;
  reason: string;
  atMs: number;
}

/** From when until when an active program could not be played as signed; `untilMs` is null while it cannot. */
interface NotPlayableTable {
  prescriptionId: string;
  patientId: string;
  fromMs: number;
  untilMs: Generated<number | null>;
}

/** Drafts: one for each clinician and prescription, or new prescription of a patient. */
interface DraftTable {
  clinicianId: string;
  patientId: string;
  /** Empty for a prescription that does not exist yet. */
  prescriptionId: string;
  content: string;
  /** The version that the draft is based on; 0 for a new prescription. */
  basedOnNumber: number;
  updatedAtMs: number;
}
