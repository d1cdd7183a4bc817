import type { EasierChoice } from '../../listening/report.js';
import type { ReadPrescription } from '../../prescription/content.js';
import { easierProgram, programOfSession } from '../../prescription/sessionProgram.js';
import type { PrescribedProgram } from '../../program/prescribed.js';
import { openWarningSince } from '../../store/attention/patientChanged.js';
import { countFinished } from '../../store/listening/listeningRecords.js';
import {
  type Prescription,
  prescriptionById,
  type SignedVersion,
  versionsOf,
} from '../../store/people/chart.js';
import { dayMs } from '../../time/units.js';
import type { Chart } from '../people/chart.js';
import type { Resources } from '../resources/resources.js';

/** How long a replaced version may still be played: it may have been downloaded or started before. */
const replacedPlaysMs = dayMs;

/**
 * A plan covers three days with at most three sessions each, and a phone may be up to two days behind. No other number
 * is ever linked.
 */
const mostAhead = 8;
const mostBehind = 9;
const mostADay = 3;

/** Which session of which version; `choice` names an easier one instead. */
export type SessionPlace = {
  prescriptionId: string;
  versionNumber: number;
  sessionNumber: number;
  choice?: EasierChoice | null;
};

/**
 * Rule PERM-5: the program of a session that the listener may play now, or null: it is not theirs, is paused or ended,
 * was replaced more than a day ago, is far from the next one, is an easier one that the version does not allow, or a
 * warning sign of theirs is unanswered.
 */
export async function playableProgram(
  { store, versions, now }: Pick<Resources, 'store' | 'versions' | 'now'>,
  { clinicId, patientIds }: { clinicId: string; patientIds: readonly string[] },
  { prescriptionId, versionNumber, sessionNumber, choice = null }: SessionPlace,
): Promise<{ program: PrescribedProgram; prescription: Prescription } | null> {
  const found = await store.read(async (db) => {
    const prescription = await prescriptionById(db, clinicId, prescriptionId);
    if (prescription?.state !== 'active' || !patientIds.includes(prescription.patientId)) return null;
    if ((await openWarningSince(db, prescription.patientId)) !== null) return null;
    const signed = await versionsOf(db, prescriptionId);
    // Why the version before a damaged one was replaced is unknown.
    if (signed[0]?.content == null) return null;
    const version = versionThatPlays(signed, versionNumber, now());
    if (version === null) return null;
    const firstSignedAtMs = signed.at(-1)?.signedAtMs ?? version.signedAtMs;
    return { prescription, version, firstSignedAtMs, finished: await countFinished(db, prescriptionId) };
  });
  if (found === null) return null;
  const read = versions.read(prescriptionId, found.version);
  if (read === null) return null;
  // Each number is a session to render and store: nobody can have more rendered than a plan links to.
  const number = nextSessionNumber(read, found, { finished: found.finished, nowMs: now() });
  if (sessionNumber > number + mostAhead || sessionNumber < number - mostBehind) return null;
  const program = choice === null ? read.program : easierProgram(read, choice);
  if (program === null) return null;
  return { program: programOfSession(program, sessionNumber), prescription: found.prescription };
}

/**
 * The number of a program's next session: one more than were heard to the end, and never more than there can have been
 * since it was first signed, whatever a phone reports.
 */
export function nextSessionNumber(
  { program }: ReadPrescription,
  { firstSignedAtMs }: { firstSignedAtMs: number },
  { finished, nowMs }: { finished: number; nowMs: number },
): number {
  const daysSince = Math.max(0, Math.floor((nowMs - firstSignedAtMs) / dayMs) + 1);
  return program.session.number + Math.min(finished, mostADay * daysSince);
}

/** @param signed newest first */
function versionThatPlays(
  signed: readonly SignedVersion[],
  versionNumber: number,
  nowMs: number,
): SignedVersion | null {
  const index = signed.findIndex(({ number }) => number === versionNumber);
  const [version, next] = [signed[index], signed[index - 1]];
  if (version === undefined) return null;
  return next === undefined || nowMs - next.signedAtMs < replacedPlaysMs ? version : null;
}

/**
 * The newest version of a prescription, and all of them, newest first; null if today's catalogue can no longer
 * represent it.
 */
export async function newestVersion(
  chart: Pick<Chart, 'versions'>,
  { id }: Prescription,
  { versions }: Pick<Resources, 'versions'>,
): Promise<{
  version: SignedVersion;
  signed: readonly SignedVersion[];
  firstSignedAtMs: number;
  read: ReadPrescription;
} | null> {
  const signed = await chart.versions(id);
  const [version] = signed;
  if (version === undefined) return null;
  const read = versions.read(id, version);
  const firstSignedAtMs = signed.at(-1)?.signedAtMs ?? version.signedAtMs;
  return read === null ? null : { version, signed, firstSignedAtMs, read };
}
