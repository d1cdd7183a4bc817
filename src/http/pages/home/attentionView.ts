import type { PlaybackResources } from '../../../clinic/listening/notPlayable.js';
import { openChartParts } from '../../../clinic/people/chart.js';
import { urgencies } from '../../../followup/warningSigns.js';
import type { Attention } from '../../../store/attention/attention.js';
import { prescriptionById, prescriptionsOf } from '../../../store/people/chart.js';
import type { AttentionKind } from '../../../store/schema/peopleSchema.js';
import { dayInWords } from '../../../text/dates.js';
import type { HttpResources } from '../../server/resources.js';
import { notPlayableView } from '../prescription/notPlayableView.js';
import { notedSigns, reportedSigns } from '../sessions/reportedSigns.js';

type AttentionService = PlaybackResources & Pick<HttpResources, 'store' | 'words' | 'now'>;

/** Warning signs by name and hour, emergencies first. */
export async function attentionView(
  service: AttentionService,
  attention: readonly Attention[],
  { clinicId, zone }: { clinicId: string; zone: string },
): Promise<object[]> {
  const { words } = service;
  const lines = await Promise.all(
    attention.map(async (each) => {
      const { kind, subject, sinceMs, patientId, patientName } = each;
      const reported = await signsOf(service, each, zone);
      return {
        rank: reported?.rank ?? urgencies.length,
        name: patientName,
        why: words.attention[kind].why,
        signs: reported?.words ?? null,
        notPlayable: kind === 'not-playable' ? await notPlayableReason(service, subject, clinicId) : null,
        answerBy: reported?.answerBy ?? null,
        isOverdue: reported?.isOverdue === true,
        doWords: words.attention[kind].does,
        address: await attentionAddress(service, kind, { patientId, subject }, clinicId),
        since: reported?.since ?? dayInWords(sinceMs, zone),
      };
    }),
  );
  return lines.sort((a, b) => a.rank - b.rank);
}

async function notPlayableReason(
  service: AttentionService,
  prescriptionId: string,
  clinicId: string,
): Promise<object | null> {
  const { store } = service;
  const prescription = await store.read((db) => prescriptionById(db, clinicId, prescriptionId));
  if (prescription === null) return null;
  return notPlayableView(service, openChartParts(store, clinicId, prescription.patientId), prescription);
}

/** The signs of urgent reports; null for everything else. */
async function signsOf(service: AttentionService, attention: Attention, zone: string) {
  if (attention.kind === 'warning-sign') return reportedSigns(service, attention, zone);
  return attention.kind === 'urgent-note' ? notedSigns(service, attention, zone) : null;
}

/** The page where a clinician can resolve a reason for attention. */
async function attentionAddress(
  { store }: AttentionService,
  kind: AttentionKind,
  { patientId, subject }: { patientId: string; subject: string },
  clinicId: string,
): Promise<string> {
  if (kind === 'to-review') {
    const programs = await store.read((db) => prescriptionsOf(db, clinicId, patientId));
    const [running, another] = programs.filter(({ state }) => state === 'active');
    if (running !== undefined && another === undefined) return `/prescriptions/${running.id}`;
  }
  const person = `/patients/${patientId}`;
  const places: Readonly<Record<AttentionKind, string>> = {
    'warning-sign': person,
    'urgent-note': `${person}#notes`,
    'unread-note': `${person}#notes`,
    stopped: person,
    'not-playable': `/prescriptions/${subject}`,
    'not-delivered': `${person}/reminders`,
    'gone-quiet': `${person}/heard`,
    'advice-waits': `${person}/advice`,
    'to-review': `${person}#program-heading`,
    'screening-damaged': `${person}/screening`,
    'to-screen': `${person}/screening`,
    'to-prescribe': `${person}/prescribe`,
    'questions-urgent': `${person}/screening/urgent`,
    'questions-new': `${person}/screening/new`,
    'screened-again': `/prescriptions/${subject}/change`,
    paused: `/prescriptions/${subject}`,
  };
  return places[kind];
}
