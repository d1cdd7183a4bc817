import { requireOwner } from '../../../clinic/actor.js';
import type { PlaybackResources } from '../../../clinic/listening/notPlayable.js';
import { stillKinds } from '../../../reminders/runner.js';
import { markOwnerLinksSeen, ownerLinkNotices } from '../../../store/accounts/accountLinks.js';
import { attentionOf } from '../../../store/attention/attention.js';
import { listPatients } from '../../../store/people/patients.js';
import { draftsOf, interviewDraft } from '../../../store/prescribing/prescriptions.js';
import { failedDeliveriesOf, type ShownDelivery } from '../../../store/reminding/deliveryLists.js';
import { dayInWords, timeInWords } from '../../../text/dates.js';
import { field } from '../../forms/fields.js';
import type { HttpResources } from '../../server/resources.js';
import type { PageResources } from '../../server/routing.js';
import { type AuthenticatedRequest, type PageReply, Routes } from '../../server/routing.js';
import { incidentsView } from '../incidents/incidents.js';
import { noNumberView } from '../reminders/noNumberView.js';
import { deliveryView } from '../reminders/sentView.js';
import { attentionView } from './attentionView.js';
import { zoneView } from './zoneView.js';

/** Enough for one screen; the others are only counted. */
const mostShown = 12;
/** The number of unseen failed messages that are read; most of them are shown on their patients' pages. */
const mostFailed = 500;

/** The list of patients, with those who need attention first. */
export function homeRoutes(
  service: PageResources &
    PlaybackResources &
    Pick<HttpResources, 'zoneData' | 'standsStill' | 'troubles' | 'incidents'>,
): Routes {
  const { store, words } = service;

  /** Failed messages that are on no patient's page, such as the weekly summary. */
  async function failedAboutNobody(clinicId: string): Promise<ShownDelivery[]> {
    const failed = await store.read((db) => failedDeliveriesOf(db, clinicId, mostFailed));
    return failed.filter(({ patientId }) => patientId === null);
  }

  /** Links made on the server, which every owner has to see once. */
  async function noticesFor({ clinician, nowMs }: AuthenticatedRequest): Promise<object | null> {
    if (clinician.role !== 'owner') return null;
    const notices = await store.read((db) => ownerLinkNotices(db, clinician.id));
    if (notices.length === 0) return null;
    const when = (atMs: number) => timeInWords(atMs, clinician.clinicZone);
    return {
      // A notice that arrives while the page is being read stays for the next time.
      upToMs: Math.max(...notices.map(({ createdAtMs }) => createdAtMs)),
      links: notices.map(({ name, createdAtMs, usedAtMs, expiresAtMs }) => ({
        name,
        made: when(createdAtMs),
        used: usedAtMs === null ? null : when(usedAtMs),
        isOpen: usedAtMs === null && expiresAtMs > nowMs,
      })),
    };
  }

  async function list(request: AuthenticatedRequest): Promise<PageReply> {
    const { clinicId, clinicZone, id } = request.clinician;
    const q = field(request.fields, 'q').slice(0, 100);
    const after = field(request.fields, 'after') || undefined;
    const { patients, hasMore } = await store.read((db) => listPatients(db, clinicId, q, after));
    const isFirstPage = q === '' && after === undefined;
    const attention = isFirstPage ? await store.read((db) => attentionOf(db, clinicId, mostShown)) : null;
    const drafts = isFirstPage ? await store.read((db) => draftsOf(db, { clinicianId: id, clinicId })) : [];
    const failed = isFirstPage ? await failedAboutNobody(clinicId) : [];
    const still = service.standsStill();
    const isForOwner = isFirstPage && request.clinician.role === 'owner';
    const troubles = isForOwner ? service.troubles.all() : [];
    const last = patients.at(-1);
    return {
      kind: 'page',
      page: 'home',
      view: {
        q,
        ...(isFirstPage ? await noNumberView(service, request.clinician) : {}),
        standsStill: stillKinds.filter((what) => still.includes(what)).map((what) => words.standsStill[what]),
        zoneData: isFirstPage ? await zoneView(service, request.clinician) : null,
        incidents: isForOwner ? await incidentsView(service, request) : null,
        hasTroubles: troubles.length > 0,
        troubles: troubles.map(({ kind, cause, sinceMs }) => ({
          ...words.troubles[kind],
          cause,
          since: dayInWords(sinceMs, clinicZone),
        })),
        hasAttention: attention !== null && attention.first.length > 0,
        attention: await attentionView(service, attention?.first ?? [], { clinicId, zone: clinicZone }),
        others: attention === null ? null : attention.total - attention.first.length || null,
        ownerLinks: isFirstPage ? await noticesFor(request) : null,
        mayWrite: request.mayWrite,
        hasFailed: failed.length > 0,
        failed: failed.map((each) => deliveryView(each, words, { zone: clinicZone, patientName: null })),
        hasDrafts: drafts.length > 0,
        drafts: drafts.map((draft) => ({
          name: draft.patientName,
          isInterview: draft.prescriptionId === interviewDraft,
          address: draftAddress(draft),
          since: dayInWords(draft.updatedAtMs, clinicZone),
        })),
        hasPatients: patients.length > 0,
        patients: patients.map((each) => ({ id: each.id, name: each.name, born: each.birthYear })),
        more: last !== undefined && hasMore ? { q, after: last.id } : null,
      },
    };
  }

  return (
    new Routes(service)
      .authenticatedRoute('get', '/', list)
      // The search is by name, and names do not appear in URLs.
      .authenticatedRoute('post', '/', list)
      .authenticatedRoute('post', '/owner-links/seen', async (request) => {
        requireOwner(request);
        const upToMs = Number(field(request.fields, 'upToMs'));
        if (Number.isSafeInteger(upToMs)) {
          await store.write((db) => markOwnerLinksSeen(db, request.clinician.id, upToMs));
        }
        return { kind: 'redirect', to: '/' };
      })
  );
}

/** Where a draft, or an unfinished interview, continues. */
function draftAddress({
  patientId,
  prescriptionId,
}: {
  patientId: string;
  prescriptionId: string | null;
}): string {
  if (prescriptionId === interviewDraft) return `/patients/${patientId}/screening`;
  return prescriptionId === null
    ? `/patients/${patientId}/prescribe`
    : `/prescriptions/${prescriptionId}/change`;
}
