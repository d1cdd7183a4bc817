import { clinicDayOf } from '../../../clinic/actor.js';
import type { PlaybackResources } from '../../../clinic/listening/notPlayable.js';
import {
  caregiverConsentKinds,
  caregiverSchema,
  consentSchema,
  linkCaregiver,
  saveConsent,
  unlinkCaregiver,
} from '../../../clinic/people/care.js';
import { type Chart, readChart } from '../../../clinic/people/chart.js';
import { countOpenFindingsNow } from '../../../clinic/screening/screening.js';
import { parseForm } from '../../../clinic/values.js';
import { timetableOf } from '../../../prescription/content.js';
import { isoDayIn } from '../../../schedule/wallClock.js';
import { formerPrecautionsOf, precautionsOf, unanswered } from '../../../screening/answers.js';
import { isUrgent } from '../../../screening/interview.js';
import { isTooOld, type TakenScreening } from '../../../screening/takenScreening.js';
import type { Prescription } from '../../../store/people/chart.js';
import { dateInWords, dayInWords } from '../../../text/dates.js';
import { field } from '../../forms/fields.js';
import type { PageResources } from '../../server/routing.js';
import { type AuthenticatedRequest, Routes } from '../../server/routing.js';
import { dueView } from '../prescription/dueView.js';
import { notPlayableView } from '../prescription/notPlayableView.js';
import { restView } from '../reminders/breaksView.js';
import { noNumberView } from '../reminders/noNumberView.js';
import { unreadNotesView } from '../sessions/notesView.js';
import { listeningView } from './patientView.js';

/** A patient's page: precautions, programs, caregivers and consents. */
export function personRoutes(service: PageResources & PlaybackResources): Routes {
  const { words, workshop } = service;

  /** What a patient can consent to: once for themselves, and once per caregiver. */
  async function consentView(request: AuthenticatedRequest, chart: Chart): Promise<object> {
    const caregivers = await chart.caregivers();
    const consents = await chart.consents();
    const one = (kind: keyof typeof words.consents, caregiverId: string | null) => {
      const found = consents.find((each) => each.kind === kind && each.caregiverId === caregiverId);
      return {
        kind,
        caregiverId,
        words: words.consents[kind],
        isGiven: found?.isGiven === true,
        when:
          found === undefined
            ? null
            : { day: dateInWords(found.onDate), by: found.clinicianName, note: found.note },
      };
    };
    return {
      today: clinicDayOf(request),
      consents: [one('reminders', null)],
      hasCaregivers: caregivers.length > 0,
      caregivers: caregivers.map((caregiver) => ({
        caregiver,
        contact: [caregiver.relation, caregiver.phone, caregiver.email]
          .filter((each) => each !== '')
          .join(', '),
        consents: caregiverConsentKinds.map((kind) => one(kind, caregiver.id)),
      })),
    };
  }

  async function screeningView(request: AuthenticatedRequest, chart: Chart): Promise<object> {
    const screening = await chart.screening();
    if (screening === null) {
      return { screening: null, isScreeningDamaged: (await chart.newestInterview()) !== null };
    }
    const precautions = precautionsOf(screening.answers, workshop.interview);
    const stops = precautions.flatMap(({ name, rules }) =>
      rules.filter(({ stop }) => stop).map(({ how }) => ({ name, how })),
    );
    return {
      screening: {
        when: dayInWords(screening.atMs, request.clinician.clinicZone),
        by: screening.clinicianName,
        stops,
        hasPrecautions: precautions.length > 0,
        former: formerPrecautionsOf(screening.answers, workshop.interview).map(({ id, name }) => ({
          name,
          details: screening.answers[id]?.details,
        })),
        precautions: precautions.map(({ id, name, help }) => ({
          name,
          help,
          isUnsure: screening.answers[id]?.answer === 'unsure',
          details: screening.answers[id]?.details,
        })),
        ...openView(screening, request.nowMs),
      },
    };
  }

  /** The questions added to the interview since then, and whether they can be asked separately. */
  function openView(screening: TakenScreening, nowMs: number): object {
    const open = unanswered(screening.answers, workshop.interview);
    return {
      openCount: open.length || null,
      urgentCount: open.filter(isUrgent).length || null,
      mayBeAddedTo: !isTooOld(screening, nowMs),
    };
  }

  async function dueOf(chart: Chart, prescription: Prescription, today: string): Promise<object | null> {
    if (prescription.state !== 'active') return null;
    const [newest] = await chart.versions(prescription.id);
    if (newest === undefined) return null;
    return dueView(timetableOf(newest.content), prescription, today);
  }

  return new Routes(service)
    .authenticatedRoute('get', '/patients/:id', async (request) => {
      const { clinicZone } = request.clinician;
      const chart = await readChart(service, request, request.params.id ?? '');
      const { patient } = chart;
      const prescriptions = await chart.programs();
      return {
        kind: 'page',
        page: 'patient',
        view: {
          patient,
          goals: patient.goals,
          hasGoals: patient.goals.length > 0,
          hasPrescriptions: prescriptions.length > 0,
          prescriptions: await Promise.all(
            prescriptions.map(async (each) => ({
              openCount:
                each.state === 'ended' ? null : await countOpenFindingsNow(service, request, chart, each),
              id: each.id,
              due: await dueOf(chart, each, isoDayIn(request.nowMs, patient.zone)),
              notPlayable: await notPlayableView(service, chart, each),
              isActive: each.state === 'active',
              title: each.title,
              stateWords: words.prescriptionStates[each.state],
              number: each.newestVersion,
              signed: dayInWords(each.signedAtMs, clinicZone),
              by: each.signedByName,
            })),
          ),
          mayWrite: request.mayWrite,
          ...(await noNumberView(service, request.clinician)),
          ...(await restView(service, patient, request.nowMs)),
          ...(await screeningView(request, chart)),
          ...(await consentView(request, chart)),
          ...(await listeningView(service, request, chart)),
          ...(await unreadNotesView(service, chart)),
        },
      };
    })
    .authenticatedRoute('post', '/patients/:id/caregivers', async (request) => {
      const names = ['name', 'relation', 'phone', 'email'];
      const typed = Object.fromEntries(names.map((name) => [name, field(request.fields, name)]));
      const patientId = request.params.id ?? '';
      const personId = field(request.fields, 'personId') || null;
      await linkCaregiver(service, request, patientId, parseForm(caregiverSchema, { ...typed, personId }));
      return { kind: 'redirect', to: `/patients/${patientId}#care` };
    })
    .authenticatedRoute('post', '/patients/:id/caregivers/:caregiverId/end', async (request) => {
      const patientId = request.params.id ?? '';
      await unlinkCaregiver(service, request, patientId, request.params.caregiverId ?? '');
      return { kind: 'redirect', to: `/patients/${patientId}#care` };
    })
    .authenticatedRoute('post', '/patients/:id/consents', async (request) => {
      const patientId = request.params.id ?? '';
      const consent = parseForm(consentSchema, {
        kind: field(request.fields, 'kind'),
        caregiverId: field(request.fields, 'caregiverId') || null,
        isGiven: field(request.fields, 'isGiven') === 'yes',
        onDate: field(request.fields, 'onDate'),
        note: field(request.fields, 'note'),
      });
      await saveConsent(service, request, patientId, consent);
      return { kind: 'redirect', to: `/patients/${patientId}#care` };
    });
}
