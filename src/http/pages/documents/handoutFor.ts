import { note } from '../../../clinic/actor.js';
import { whyNotPlayable } from '../../../clinic/listening/notPlayable.js';
import { Refused, refusalOf, refused } from '../../../clinic/refusals.js';
import { hashToken } from '../../../clinic/tokens.js';
import { handout } from '../../../documents/handout.js';
import type { PageSize, SquareCode } from '../../../documents/pdf/paper.js';
import { timetableInWords } from '../../../schedule/inWords.js';
import { clinicById } from '../../../store/accounts/clinics.js';
import { openWarningSince } from '../../../store/attention/openWarning.js';
import { linkOf, linkOfToken } from '../../../store/listening/listeningLinks.js';
import type { Patient } from '../../../store/people/patients.js';
import { prescriptionById, versionsOf } from '../../../store/prescribing/prescriptions.js';
import { dayInWords } from '../../../text/dates.js';
import type { HttpResources } from '../../server/resources.js';
import type { AuthenticatedRequest, PageReply } from '../../server/routing.js';
import type { Printer } from './printer.js';

/** The secrets of a link, known only to the page that has just shown them. */
export type Secrets = { token: string; code: string };

/**
 * The handout of a program, as a file.
 *
 * @param secrets of a link given just now; null for a handout without them
 * @throws Refused if the patient has no such program; also if it cannot be played, or the link is no longer valid
 */
export async function handoutFor(
  service: Pick<HttpResources, 'store' | 'workshop' | 'words' | 'lengths' | 'versions'>,
  printer: Printer,
  visit: AuthenticatedRequest,
  asked: { patient: Patient; prescriptionId: string; pageSize: PageSize | null; secrets: Secrets | null },
): Promise<PageReply> {
  const { store, words, workshop } = service;
  const { patient, prescriptionId, pageSize, secrets } = asked;
  const { clinicId } = visit.clinician;
  const program = await store.read((db) => prescriptionById(db, clinicId, prescriptionId));
  const [version] = await store.read((db) => versionsOf(db, prescriptionId));
  if (program?.patientId !== patient.id || version === undefined) {
    throw refused('no-such-program');
  }
  const problems = await whyNotPlayable(service, prescriptionId, version);
  const read = service.versions.read(prescriptionId, version);
  if (problems.length > 0 || read === null) {
    throw new Refused([{ code: 'handout-not-playable' }, ...problems.map(refusalOf)]);
  }
  const isHeld = (await store.read((db) => openWarningSince(db, patient.id))) !== null;
  if (program.state !== 'active' || isHeld) {
    throw refused(isHeld ? 'handout-held' : 'program-not-active');
  }
  const paper = handout(printer.texts, {
    clinic: await store.read((db) => clinicById(db, clinicId)),
    personName: patient.name,
    programTitle: program.title,
    prescription: read,
    signedAtMs: version.signedAtMs,
    timetable: timetableInWords(read, words.schedule),
    warningSigns: workshop.warningSigns,
    access: secrets === null ? null : await accessOf(service, visit, patient, secrets),
    pageSize,
    madeAtMs: visit.nowMs,
  });
  await store.write((db) =>
    note(db, visit, { patientId: patient.id, subject: prescriptionId, action: 'paper-made' }),
  );
  return printer.pdf(paper, 'handout');
}

async function accessOf(
  { store }: Pick<HttpResources, 'store'>,
  visit: AuthenticatedRequest,
  patient: Patient,
  { token, code }: Secrets,
) {
  const { nowMs, origin } = visit;
  const { clinicId, clinicZone } = visit.clinician;
  const opened = await store.read((db) =>
    linkOfToken(db, { tokenHash: hashToken(token), purpose: 'pages', nowMs }),
  );
  const link = await store.read((db) => linkOf(db, clinicId, { patientId: patient.id }, nowMs));
  if (link === null || opened?.linkId !== link.id) {
    throw refused('link-not-valid');
  }
  return {
    square: await squareCode(`${origin}/l/${token}/`),
    code,
    typedAt: `${origin}/l`,
    until: dayInWords(link.expiresAtMs, clinicZone),
    hasPin: link.hasPin,
  };
}

/** Level M survives a crease in the paper (ISO/IEC 18004: 15 %). */
async function squareCode(address: string): Promise<SquareCode> {
  const { default: qrcode } = await import('qrcode');
  const { modules } = qrcode.create(address, { errorCorrectionLevel: 'M' });
  return { size: modules.size, isDark: (row, column) => modules.get(row, column) === 1 };
}
