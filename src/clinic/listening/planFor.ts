import { isDone, type Listened, summarizeSlots, sumUp } from '../../listening/listened.js';
import type { EasierSession, Plan, PlannedPerson, PlannedSession } from '../../listening/plan.js';
import { isUnwell, type NotTodayReason } from '../../listening/report.js';
import { timetablesSince } from '../../prescription/content.js';
import { programOfSession } from '../../prescription/sessionProgram.js';
import { type PlannedSlot, plannedStates } from '../../schedule/plannedStates.js';
import { dayOfSlot, rhythmOf } from '../../schedule/slots.js';
import { addDays, isoDayIn, startOfDayMs } from '../../schedule/wallClock.js';
import { zoneOffsetsIn } from '../../schedule/zoneOffsets.js';
import { clinicById } from '../../store/accounts/clinics.js';
import { ignoreSuperseded } from '../../store/engine/superseded.js';
import { countFinished, hasBegun, listHeardSince } from '../../store/listening/listeningRecords.js';
import { type Prescription, patientById } from '../../store/people/chart.js';
import { dayMs } from '../../time/units.js';
import { type Chart, openChart } from '../people/chart.js';
import type { Resources } from '../resources/resources.js';
import { hasAgreed, hasAgreedToReminders } from './consent.js';
import { type Easier, lengthsOf, listEasierSessions, wholeMinutes } from './easierOffers.js';
import type { Listener } from './listener.js';
import type { PlaybackResources } from './notPlayable.js';
import { findHoldReasons, recordUnplayablePrograms } from './notPlayable.js';
import { newestVersion, nextSessionNumber } from './sessions.js';

/** Covers the whole week that a day belongs to. */
const lookBackMs = 8 * dayMs;
/** A phone that has been offline longer may not know that a program was changed or paused. */
const goodDays = 2;

/** What a listener may play today and on the next two days. */
export async function planFor(
  service: PlaybackResources & Pick<Resources, 'store' | 'reminderSecrets' | 'channelNames' | 'now'>,
  listener: Listener,
): Promise<Plan> {
  const nowMs = service.now();
  const clinic = await service.store.read((db) => clinicById(db, listener.clinicId));
  const own = await chartsOf(service, listener);
  const people: PlannedPerson[] = [];
  for (const { chart, caregiverId } of own) {
    people.push(await personFor(service, { chart, caregiverId, nowMs }));
  }
  const isReminded = service.channelNames.has('push') && (await isAnyReminded(own));
  const zones = people.length === 0 ? [clinic.zone] : people.map(({ zone }) => zone);
  return {
    format: 'stillcount-plan/1',
    nowMs,
    goodUntilMs: Math.min(
      ...zones.map((zone) => startOfDayMs(addDays(isoDayIn(nowMs, zone), goodDays), zone)),
    ),
    isCaregiver: listener.isCaregiver,
    clinic: {
      ...{ name: clinic.name, phone: clinic.phone, emergencyNumber: clinic.emergencyNumber },
      ...(clinic.notesReading === '' ? {} : { notesReading: clinic.notesReading }),
    },
    ...(isReminded ? { pushKey: service.reminderSecrets.vapid.publicKey } : {}),
    people,
  };
}

/** A patient they may listen for; `caregiverId` as in a listener. */
type Own = { chart: Chart; caregiverId: string | null };

async function chartsOf({ store }: Pick<Resources, 'store'>, listener: Listener): Promise<Own[]> {
  const own: Own[] = [];
  for (const { patientId, caregiverId } of listener.patients) {
    const patient = await store.read((db) => patientById(db, listener.clinicId, patientId));
    if (patient !== null) own.push({ chart: openChart(store, listener.clinicId, patient), caregiverId });
  }
  return own;
}

async function isAnyReminded(own: readonly Own[]): Promise<boolean> {
  for (const { chart, caregiverId } of own) {
    if (hasAgreedToReminders(await chart.consents(), caregiverId)) return true;
  }
  return false;
}

type Asked = Own & { nowMs: number };

async function personFor(
  service: PlaybackResources & Pick<Resources, 'store' | 'now'>,
  { chart, caregiverId, nowMs }: Asked,
): Promise<PlannedPerson> {
  const { store } = service;
  const { patient } = chart;
  const agreed = async (kind: 'caregiver-sees-done' | 'caregiver-told-of-warnings') =>
    caregiverId === null || hasAgreed(await chart.consents(), caregiverId, kind);
  const showsDone = await agreed('caregiver-sees-done');
  const programs: PlannedProgram[] = [];
  const notPlayable: string[] = [];
  const heard = await store.read((db) => listHeardSince(db, patient.id, nowMs - lookBackMs));
  for (const prescription of await chart.programs()) {
    if (prescription.state !== 'active') continue;
    if ((await findHoldReasons(service, chart, prescription.id)).length > 0)
      notPlayable.push(prescription.id);
    else
      programs.push(await programFor(service, { chart, prescription, heard, nowMs, caregiverId, showsDone }));
  }
  await recordUnplayablePrograms(service, patient.id, notPlayable).catch(ignoreSuperseded);
  return {
    id: patient.id,
    spokenName: patient.spokenName,
    zone: patient.zone,
    clocks: zoneOffsetsIn(patient.zone, nowMs - 2 * dayMs, nowMs + lookBackMs),
    day: isoDayIn(nowMs, patient.zone),
    isFirst: !(await store.read((db) => hasBegun(db, patient.id, showsDone ? null : caregiverId))),
    isHeld: (await chart.openWarningSince()) !== null,
    saysWhyHeld: await agreed('caregiver-told-of-warnings'),
    showsDone,
    ...(notPlayable.length > 0 ? { isBeingChecked: true } : {}),
    isWeekDone: showsDone && programs.length > 0 && programs.every(({ weekIsDone }) => weekIsDone),
    sessions: programs.flatMap(({ sessions }) => sessions).sort((a, b) => a.dueAtMs - b.dueAtMs),
  };
}

type Program = Asked & {
  prescription: Prescription;
  heard: Awaited<ReturnType<typeof listHeardSince>>;
  showsDone: boolean;
};

/** What a patient may play of one program. */
type PlannedProgram = { sessions: PlannedSession[]; weekIsDone: boolean };

async function programFor(
  service: PlaybackResources & Pick<Resources, 'store'>,
  { chart, prescription, heard, nowMs, caregiverId, showsDone }: Program,
): Promise<PlannedProgram> {
  const { store } = service;
  const newest = await newestVersion(chart, prescription, service);
  if (newest === null) return { sessions: [], weekIsDone: false };
  const { version, signed, firstSignedAtMs, read } = newest;
  const breaks = await chart.breaks();
  // A listener who may not see adherence knows only the sessions they started themselves, and the clock.
  const isShown = (row: { prescriptionId: string; caregiverId: string | null }) =>
    row.prescriptionId === prescription.id && (showsDone || row.caregiverId === caregiverId);
  const listened = sumUp(heard.steps.filter(isShown));
  const finished = await store.read((db) => countFinished(db, prescription.id));
  const nextNumber = nextSessionNumber(read, { firstSignedAtMs }, { finished, nowMs });
  const numberAt = (slot: string, ahead: number) =>
    listened.find((each) => each.slot === slot)?.sessionNumber ?? nextNumber + ahead;
  const place = { prescriptionId: prescription.id, versionNumber: version.number };
  const next = { ...place, sessionNumber: nextNumber };
  const program = programOfSession(read.program, nextNumber);
  const usualMs = await service.lengths.durationMs(service.workshop, program, next);
  const easier = await listEasierSessions(service, read, next, usualMs);
  const lengthOf = await lengthsOf(service, listened, { signed, usualMs });
  const rhythm = rhythmOf(timetablesSince(signed, nowMs - lookBackMs), { zone: chart.patient.zone, breaks });
  if (rhythm === null) return { sessions: [], weekIsDone: false };
  const { slots, weekIsDone } = plannedStates({
    rhythm,
    nowMs,
    sinceMs: version.signedAtMs,
    lastDoneAtMs: lastDoneOf(listened, lengthOf),
    heard: summarizeSlots(listened, lengthOf),
    notToday: putOffSlots(heard.notToday.filter(isShown)),
  });
  const sessions: PlannedSession[] = [];
  let ahead = 0;
  for (const slot of slots) {
    if (!showsDone && slot.state === 'missed') continue;
    const sessionNumber = numberAt(slot.slot, ahead);
    // Only sessions that can still be played advance the numbers.
    if (slot.state === 'due' || slot.state === 'later') ahead += 1;
    const { title } = prescription;
    sessions.push(planned(slot, { ...place, sessionNumber, title, durationMs: usualMs, easier }));
  }
  return { sessions, weekIsDone };
}

/** After skipping one session in pain or unwell, the patient is not asked to do another on that day, on any device. */
function putOffSlots(putOff: readonly { slot: string; reason: NotTodayReason }[]): Set<string> {
  return new Set(putOff.map(({ slot, reason }) => (isUnwell(reason) ? dayOfSlot(slot) : slot)));
}

function planned(
  { slot, dueAtMs, opensAtMs, closesAtMs, state }: PlannedSlot,
  session: {
    prescriptionId: string;
    versionNumber: number;
    sessionNumber: number;
    title: string;
    durationMs: number;
    easier: readonly Easier[];
  },
): PlannedSession {
  const { prescriptionId, versionNumber, sessionNumber, title, durationMs, easier } = session;
  const address = `sessions/${prescriptionId}/${versionNumber}/${sessionNumber}`;
  const isOver = state === 'done' || state === 'missed';
  return {
    prescriptionId,
    versionNumber,
    sessionNumber,
    slot,
    title,
    dueAtMs,
    opensAtMs,
    closesAtMs,
    minutes: wholeMinutes(durationMs),
    state,
    session: `${address}/session.json`,
    audio: `${address}/session.mp3`,
    words: `${address}/session.txt`,
    figures: `${address}/session.html`,
    ...(isOver || easier.length === 0 ? {} : { easier: easier.map(inPlan) }),
  };
}

function inPlan({ choice, durationMs }: Easier): EasierSession {
  return { choice, minutes: wholeMinutes(durationMs) };
}

function lastDoneOf(listened: readonly Listened[], lengthOf: (listened: Listened) => number): number | null {
  const done = listened.filter((each) => isDone(each, lengthOf(each)));
  return done.reduce<number | null>((last, { lastAtMs }) => Math.max(last ?? 0, lastAtMs), null);
}
