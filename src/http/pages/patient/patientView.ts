import type { Chart } from '../../../clinic/people/chart.js';
import { readReach } from '../../../clinic/reminding/reach.js';
import { sumUp } from '../../../listening/listened.js';
import { warningsOf } from '../../../store/followup/history.js';
import { type LinkOwner, linkOf } from '../../../store/listening/listeningLinks.js';
import { listHeardSince } from '../../../store/listening/listeningRecords.js';
import { caregiversOfClinic } from '../../../store/people/caregivers.js';
import { dateInWords, dayInWords, timeInWords } from '../../../text/dates.js';
import { dayMs } from '../../../time/units.js';
import type { HttpResources } from '../../server/resources.js';
import type { AuthenticatedRequest } from '../../server/routing.js';
import { warningView } from '../sessions/warningView.js';

const lastWeekMs = 7 * dayMs;
/** Warnings shown on the page; more are counted, up to as many as are read. */
const [mostWarnings, mostRead] = [10, 100];
const mostPutOff = 3;

/** Listening on a patient's page: links, open warnings, and recent sessions. */
export async function listeningView(
  service: Pick<HttpResources, 'store' | 'workshop' | 'words'>,
  request: AuthenticatedRequest,
  chart: Chart,
): Promise<object> {
  const { store } = service;
  const { patient } = chart;
  const { clinicId, clinicZone } = request.clinician;
  const linkView = async (owner: LinkOwner) => {
    const link = await store.read((db) => linkOf(db, clinicId, owner, request.nowMs));
    if (link === null) return null;
    return {
      given: dayInWords(link.createdAtMs, clinicZone),
      until: dayInWords(link.expiresAtMs, clinicZone),
      seen: link.lastSeenAtMs === null ? null : timeInWords(link.lastSeenAtMs, clinicZone),
      hasPin: link.hasPin,
      hasFeed: link.hasFeed,
      hasCalendar: link.hasCalendar,
      wrongPins: link.wrongPins || null,
    };
  };
  const caregivers = await chart.caregivers();
  const names = new Map(caregivers.map(({ id, name }) => [id, name]));
  const warnings = await store.read((db) => warningsOf(db, patient.id, mostRead));
  const open = warnings.filter(({ answer }) => answer === null);
  const sinceMs = request.nowMs - lastWeekMs;
  const { steps, notToday } = await store.read((db) => listHeardSince(db, patient.id, sinceMs));
  const listenings = sumUp(steps);
  const last = listenings.at(-1);
  const own = new Set(caregivers.map(({ personId }) => personId));
  const others = (await store.read((db) => caregiversOfClinic(db, clinicId))).filter(
    ({ personId }) => !own.has(personId),
  );
  return {
    link: await linkView({ patientId: patient.id }),
    caregiverLinks: await Promise.all(
      caregivers.map(async ({ id, name, personId }) => ({
        id,
        name,
        link: await linkView({ caregiverPersonId: personId }),
      })),
    ),
    hasOpenWarnings: open.length > 0,
    openWarnings: open
      .slice(0, mostWarnings)
      .map((warning) => warningView(service, warning, { zone: patient.zone, names })),
    notTold: open.length === 0 ? [] : await notToldOf(service, request, chart),
    moreWarnings: Math.max(0, open.length - mostWarnings) || null,
    seenUpToMs: request.nowMs,
    putOff: notToday.slice(-mostPutOff).map(({ slot, reason }) => ({
      day: dateInWords(slot.slice(0, 10)),
      why: service.words.notToday[reason],
    })),
    lastHeard:
      last === undefined
        ? null
        : { when: timeInWords(last.startedAtMs, patient.zone), count: listenings.length },
    hasOtherCaregivers: others.length > 0,
    otherCaregivers: others.map(({ personId, name, patientNames }) => ({
      personId,
      name,
      count: patientNames.length,
    })),
  };
}

/** Caregivers who should be notified of warning signs but have no address: the clinic has to do it. */
async function notToldOf(
  { store }: Pick<HttpResources, 'store'>,
  request: AuthenticatedRequest,
  chart: Chart,
): Promise<object[]> {
  const { clinicId } = request.clinician;
  const { patient } = chart;
  const reached = await store.read((db) => readReach(db, { clinicId, patient, nowMs: request.nowMs }));
  const unreached = reached.filter(({ toldOfWarnings, ways }) => toldOfWarnings && ways.length === 0);
  const caregivers = await chart.caregivers();
  return unreached.map(({ caregiverId, name }) => ({
    name,
    phone: caregivers.find(({ id }) => id === caregiverId)?.phone ?? '',
  }));
}
