import type { Generated } from 'kysely';

/** The tables of programs; the rules of {@link Database} hold. */
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

/** A program that a clinic keeps to begin others with. */
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
  /** Names the work that it came of, so that sending it twice makes it once; null for older ones. */
  workId: string | null;
  createdAtMs: number;
  /** Of the row as it was last written by the service; anything else is damage. */
  checksum: string;
}

/** Append-only. */
interface PrescriptionVersionTable {
  prescriptionId: string;
  number: number;
  /** JSON of the prescription room's content. */
  content: string;
  /** The interview that it was signed on; null for those before there was one. */
  screeningId: string | null;
  reason: string;
  signedBy: string;
  signedAtMs: number;
  /** Of what was signed; anything else is damage. */
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

/** From when until when a program that ran could not be played as it was signed; `untilMs` is null while it cannot. */
interface NotPlayableTable {
  prescriptionId: string;
  patientId: string;
  fromMs: number;
  untilMs: Generated<number | null>;
}

/** Unsigned work: one for each clinician and prescription, or new prescription of a patient. */
interface DraftTable {
  clinicianId: string;
  patientId: string;
  /** Empty for a prescription that does not exist yet. */
  prescriptionId: string;
  content: string;
  /** The version that the work began with; 0 for a new prescription. */
  basedOnNumber: number;
  updatedAtMs: number;
}
