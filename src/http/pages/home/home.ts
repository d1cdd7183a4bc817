import type { z } from 'zod';
import { requireMayWrite, requireOwner } from '../../../clinic/actor.js';
import { partsOf } from '../../../clinic/people/chart.js';
import { readPatient } from '../../../clinic/people/openRecord.js';
import { addPerson, changePerson, type Person, personSchema } from '../../../clinic/people/people.js';
import { problemsOf, wholeNumber, zones } from '../../../clinic/values.js';
import { urgencies } from '../../../followup/warningSigns.js';
import { stillKinds } from '../../../reminders/runner.js';
import { markOwnerLinksSeen, ownerLinkNotices } from '../../../store/accounts/accountLinks.js';
import { type Attention, attentionOf } from '../../../store/attention/attention.js';
import { listPatients, type PatientDetails } from '../../../store/people/patients.js';
import { draftsOf, interviewDraft } from '../../../store/prescribing/drafts.js';
import { prescriptionById, prescriptionsOf } from '../../../store/prescribing/prescriptions.js';
import { failedDeliveriesOf, type ShownDelivery } from '../../../store/reminding/deliveryLists.js';
import type { AttentionKind } from '../../../store/schema/schema.js';
import { dayInWords, timeInWords } from '../../../text/dates.js';
import { field } from '../../forms/fields.js';
import type { HttpResources } from '../../server/resources.js';
import { type AuthenticatedRequest, type PageReply, Routes } from '../../server/routing.js';
import { incidentsView } from '../incidents/incidents.js';
import { notPlayableView } from '../prescription/notPlayableView.js';
import { noNumberView } from '../reminders/noNumberView.js';
import { deliveryView } from '../reminders/sentView.js';
import { notedSigns, reportedSigns } from '../sessions/reportedSigns.js';
import { zoneView } from './zoneView.js';

/** Enough for one screen; the rest is counted. */
const mostShown = 12;
/** Of the failed messages not yet seen; most of them are on their patients' pages. */
const mostFailed = 500;

const textNames = ['name', 'spokenName', 'sayAs', 'zone', 'phone', 'email', 'hearingNotes'] as const;

/** The list of patients with those who need attention, and the patient form. */
export function peopleRoutes(
  service: Pick<
    HttpResources,
    | 'store'
    | 'workshop'
    | 'pages'
    | 'words'
    | 'assets'
    | 'lengths'
    | 'versions'
    | 'zoneData'
    | 'standsStill'
    | 'troubles'
    | 'incidents'
    | 'now'
    | 'https'
  >,
): Routes {
  const { store, words } = service;

  const formPage = (form: {
    /** Null for a new one. */
    patientName: string | null;
    values: object;
    revision?: number;
    problems?: object[];
  }): PageReply => ({
    kind: 'page',
    page: 'patient-form',
    status: form.problems === undefined ? 200 : 400,
    view: { ...form, zones, hasProblems: form.problems !== undefined },
  });

  /** Warning signs by name and hour, emergencies first. */
  async function attentionView(
    attention: readonly Attention[],
    { clinicId, zone }: { clinicId: string; zone: string },
  ): Promise<object[]> {
    const lines = await Promise.all(
      attention.map(async (each) => {
        const { kind, subject, sinceMs, patientId, patientName } = each;
        const reported = await signsOf(each, zone);
        return {
          rank: reported?.rank ?? urgencies.length,
          name: patientName,
          why: words.attention[kind].why,
          signs: reported?.words ?? null,
          notPlayable: kind === 'not-playable' ? await whatIsWrong(subject, clinicId) : null,
          answerBy: reported?.answerBy ?? null,
          isOverdue: reported?.isOverdue === true,
          doWords: words.attention[kind].does,
          address: await attentionAddress(kind, { patientId, subject }, clinicId),
          since: reported?.since ?? dayInWords(sinceMs, zone),
        };
      }),
    );
    return lines.sort((a, b) => a.rank - b.rank);
  }

  async function whatIsWrong(prescriptionId: string, clinicId: string): Promise<object | null> {
    const prescription = await store.read((db) => prescriptionById(db, clinicId, prescriptionId));
    if (prescription === null) return null;
    return notPlayableView(service, partsOf(store, clinicId, prescription.patientId), prescription);
  }

  /** The signs of what is urgent; null for everything else. */
  async function signsOf(attention: Attention, zone: string) {
    if (attention.kind === 'warning-sign') return reportedSigns(service, attention, zone);
    return attention.kind === 'urgent-note' ? notedSigns(service, attention, zone) : null;
  }

  /** The page where the reason for attention can be resolved. */
  async function attentionAddress(
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

  /** Failed messages that belong to no patient's page, such as a weekly summary. */
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
      // One that arrives while the page is being read stays for the next time.
      upToMs: Math.max(...notices.map(({ createdAtMs }) => createdAtMs)),
      links: notices.map(({ name, createdAtMs, usedAtMs, expiresAtMs }) => ({
        name,
        made: when(createdAtMs),
        used: usedAtMs === null ? null : when(usedAtMs),
        isOpen: usedAtMs === null && expiresAtMs > nowMs,
      })),
    };
  }

  async function list(visit: AuthenticatedRequest): Promise<PageReply> {
    const { clinicId, clinicZone, id } = visit.clinician;
    const q = field(visit.fields, 'q').slice(0, 100);
    const after = field(visit.fields, 'after') || undefined;
    const { patients, hasMore } = await store.read((db) => listPatients(db, clinicId, q, after));
    const isFirstPage = q === '' && after === undefined;
    const attention = isFirstPage ? await store.read((db) => attentionOf(db, clinicId, mostShown)) : null;
    const drafts = isFirstPage ? await store.read((db) => draftsOf(db, { clinicianId: id, clinicId })) : [];
    const failed = isFirstPage ? await failedAboutNobody(clinicId) : [];
    const still = service.standsStill();
    const isForOwner = isFirstPage && visit.clinician.role === 'owner';
    const troubles = isForOwner ? service.troubles.all() : [];
    const last = patients.at(-1);
    return {
      kind: 'page',
      page: 'home',
      view: {
        q,
        ...(isFirstPage ? await noNumberView(service, visit.clinician) : {}),
        standsStill: stillKinds.filter((what) => still.includes(what)).map((what) => words.standsStill[what]),
        zoneData: isFirstPage ? await zoneView(service, visit.clinician) : null,
        incidents: isForOwner ? await incidentsView(service, visit) : null,
        hasTroubles: troubles.length > 0,
        troubles: troubles.map(({ kind, cause, sinceMs }) => ({
          ...words.troubles[kind],
          cause,
          since: dayInWords(sinceMs, clinicZone),
        })),
        hasAttention: attention !== null && attention.first.length > 0,
        attention: await attentionView(attention?.first ?? [], { clinicId, zone: clinicZone }),
        others: attention === null ? null : attention.total - attention.first.length || null,
        ownerLinks: isFirstPage ? await noticesFor(visit) : null,
        mayWrite: visit.mayWrite,
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
      .authenticatedRoute('post', '/owner-links/seen', async (visit) => {
        requireOwner(visit);
        const upToMs = Number(field(visit.fields, 'upToMs'));
        if (Number.isSafeInteger(upToMs)) {
          await store.write((db) => markOwnerLinksSeen(db, visit.clinician.id, upToMs));
        }
        return { kind: 'redirect', to: '/' };
      })
      .authenticatedRoute('get', '/patients/new', async (visit) => {
        requireMayWrite(visit);
        return formPage({ patientName: null, values: { zone: visit.clinician.clinicZone } });
      })
      .authenticatedRoute('post', '/patients/new', async (visit) => {
        const person = personSchema.safeParse(typed(visit));
        if (!person.success) {
          return formPage({ patientName: null, values: shown(visit), problems: worded(person.error) });
        }
        const id = await addPerson(service, visit, person.data);
        // The next step for a new patient.
        return { kind: 'redirect', to: `/patients/${id}/screening` };
      })
      .authenticatedRoute('get', '/patients/:id/edit', async (visit) => {
        requireMayWrite(visit);
        const patient = await readPatient(service, visit, visit.params.id ?? '');
        const values = { ...patient, goals: patient.goals.join('\n') };
        return formPage({ patientName: patient.name, values, revision: patient.revision });
      })
      .authenticatedRoute('post', '/patients/:id/edit', async (visit) => {
        const patient = await readPatient(service, visit, visit.params.id ?? '');
        const patientName = patient.name;
        const revision = wholeNumber(field(visit.fields, 'revision'));
        const person = personSchema.safeParse(typed(visit));
        if (!person.success) {
          return formPage({ patientName, values: shown(visit), revision, problems: worded(person.error) });
        }
        const change = { id: patient.id, revision, person: person.data };
        if (await changePerson(service, visit, change)) {
          return { kind: 'redirect', to: `/patients/${patient.id}` };
        }
        const theirs = differencesOf(person.data, patient);
        const message = `Someone else edited this record in the meantime. Their changes: ${theirs}. Yours are below; save again to keep yours.`;
        return formPage({
          patientName,
          values: shown(visit),
          revision: patient.revision,
          problems: [{ message }],
        });
      })
  );

  function worded(error: z.ZodError): object[] {
    return problemsOf(error).map((problem) => ({
      ...problem,
      path: words.details[problem.path?.split('.')[0] ?? ''] ?? problem.path,
    }));
  }

  function differencesOf(mine: Person, theirs: PatientDetails): string {
    const text = (value: unknown) =>
      (Array.isArray(value) ? value.join('; ') : String(value ?? '')) || 'empty';
    const names = [...textNames, 'birthYear', 'goals'] as const;
    const different = names.filter((key) => text(mine[key]) !== text(theirs[key]));
    return (
      different.map((key) => `${words.details[key]}: ${text(theirs[key])}`).join(', ') || 'the same as yours'
    );
  }
}

/** The fields as typed, to be shown again. */
function shown({ fields }: AuthenticatedRequest): Record<string, string> {
  return Object.fromEntries(
    [...textNames, 'birthYear', 'goals'].map((name) => [name, field(fields, name)] as const),
  );
}

/** The fields of a stored patient. */
function typed(visit: AuthenticatedRequest): object {
  const { birthYear = '', goals = '', ...texts } = shown(visit);
  return {
    ...texts,
    birthYear: birthYear === '' ? null : Number(birthYear),
    goals: goals
      .split(/\r?\n/)
      .map((goal) => goal.trim())
      .filter((goal) => goal !== ''),
  };
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
