import type { Handout, HandoutChoices } from '../../documents/handout.js';
import { timetableInWords } from '../../schedule/inWords.js';
import { auditActor } from '../../store/accounts/audit.js';
import { clinicById } from '../../store/accounts/clinics.js';
import { openWarningSince } from '../../store/attention/patientChanged.js';
import { linkOf, linkOfToken } from '../../store/listening/listeningLinks.js';
import { type Patient, prescriptionById, versionsOf } from '../../store/people/chart.js';
import type { Actor } from '../actor.js';
import type { PlaybackResources } from '../listening/notPlayable.js';
import { findPlaybackProblems } from '../listening/notPlayable.js';
import { Refused, refusalOf, refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { hashToken } from '../tokens.js';

/** The content of a handout, without the drawing of how to reach the page, which needs the page's address. */
export type HandoutData = Omit<Handout, 'access' | keyof HandoutChoices> & {
  /** The link that the handout leads to; null for one without. */
  link: { expiresAtMs: number; hasPin: boolean } | null;
};

/**
 * Collects the content of a program's handout; making it is recorded in the activity log.
 *
 * @param request.token the token of a link that was just created; null for a handout without one
 * @throws Refused if the patient has no such program; also if it cannot be played, is not active or is held by a
 *   warning sign, or if the link no longer works
 */
export async function makeHandoutData(
  service: PlaybackResources & Pick<Resources, 'store' | 'words'>,
  actor: Actor,
  request: { patient: Patient; prescriptionId: string; token: string | null },
): Promise<HandoutData> {
  const { store, words, workshop } = service;
  const { patient, prescriptionId, token } = request;
  const { clinicId } = actor.clinician;
  const program = await store.read((db) => prescriptionById(db, clinicId, prescriptionId));
  const [version] = await store.read((db) => versionsOf(db, prescriptionId));
  if (program?.patientId !== patient.id || version === undefined) throw refused('no-such-program');
  const problems = await findPlaybackProblems(service, prescriptionId, version);
  const prescription = service.versions.read(prescriptionId, version);
  if (problems.length > 0 || prescription === null) {
    throw new Refused([{ code: 'handout-not-playable' }, ...problems.map(refusalOf)]);
  }
  const isHeld = (await store.read((db) => openWarningSince(db, patient.id))) !== null;
  if (program.state !== 'active' || isHeld) {
    throw refused(isHeld ? 'handout-held' : 'program-not-active');
  }
  const clinic = await store.read((db) => clinicById(db, clinicId));
  const link = token === null ? null : await checkLink(service, actor, patient, token);
  await store.write((db) =>
    auditActor(db, actor, { patientId: patient.id, subject: prescriptionId, action: 'paper-made' }),
  );
  return {
    clinic,
    personName: patient.name,
    programTitle: program.title,
    prescription,
    signedAtMs: version.signedAtMs,
    timetable: timetableInWords(prescription, words.schedule),
    warningSigns: workshop.warningSigns,
    madeAtMs: actor.nowMs,
    link,
  };
}

async function checkLink(
  { store }: Pick<Resources, 'store'>,
  { clinician, nowMs }: Actor,
  patient: Patient,
  token: string,
): Promise<{ expiresAtMs: number; hasPin: boolean }> {
  const opened = await store.read((db) =>
    linkOfToken(db, { tokenHash: hashToken(token), purpose: 'pages', nowMs }),
  );
  const link = await store.read((db) => linkOf(db, clinician.clinicId, { patientId: patient.id }, nowMs));
  if (link === null || opened?.linkId !== link.id) throw refused('link-not-valid');
  return link;
}
