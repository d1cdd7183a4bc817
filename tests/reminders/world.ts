import { randomUUID } from 'node:crypto';
import { join } from 'node:path';
import type { Channel, ChannelName, Message, Outcome } from '../../src/channels/channel.js';
import { warningUrgency } from '../../src/followup/warningSigns.js';
import type { Timetable } from '../../src/prescription/content.js';
import { Runner } from '../../src/reminders/runner.js';
import { openReminderSecrets } from '../../src/reminders/secrets.js';
import type { SenderTimes } from '../../src/reminders/sender.js';
import { wallClockInstant } from '../../src/schedule/wallClock.js';
import { readMessages, readWarningSigns } from '../../src/session/readClinicWords.js';
import { changeClinicContact } from '../../src/store/accounts/clinics.js';
import type { Store } from '../../src/store/engine/openStore.js';
import { makeLink } from '../../src/store/listening/listeningLinks.js';
import { saveSteps } from '../../src/store/listening/listeningRecords.js';
import { addCaregiver, recordConsent } from '../../src/store/people/caregivers.js';
import { patientById } from '../../src/store/people/chart.js';
import { changePatient, createPatient } from '../../src/store/people/patients.js';
import { changeState, createPrescription, signVersion } from '../../src/store/prescribing/prescriptions.js';
import { deliveriesOf, type ShownDelivery } from '../../src/store/reminding/deliveryLists.js';
import type { ConsentKind } from '../../src/store/schema/peopleSchema.js';
import { addScreening } from '../../src/store/screening/screenings.js';
import { makeClinic } from '../store/people.js';

type Sent = Message & { to: unknown; atMs: number };

export const templates = join(import.meta.dirname, '../../audio-templates');
export const zone = 'Europe/Berlin';
/** A Monday. */
export const firstDay = '2026-11-30';

/** A channel that answers as it is told, and remembers what it was given. */
export function recordingChannel(now: () => number) {
  const sent: Sent[] = [];
  let answers: Outcome[] = [];
  const channel: Channel = {
    send: async (to, message) => {
      const outcome = answers.shift() ?? { outcome: 'sent' };
      if (outcome.outcome === 'sent') sent.push({ ...message, to, atMs: now() });
      return outcome;
    },
    close: async () => {},
  };
  return {
    channel,
    sent,
    /** The next answers, in order; then everything works again. */
    answer: (...outcomes: Outcome[]) => {
      answers = outcomes;
    },
  };
}

/** Who is in a database already. */
export type Known = { clinicId: string; clinicianId: string; patientId: string };

/**
 * A clinic with one patient whose reminders are sent over a channel that remembers, by a clock that is set by hand.
 *
 * @param known a patient who is there already, to be screened and given an address; a new one when left out
 */
export async function openWorld(store: Store, dataFolder = '', known?: Known) {
  const email = 'rosa@example.org';
  let nowMs = wallClockInstant(firstDay, '00:00', zone) - 3 * 3_600_000;
  const now = () => nowMs;
  const clinic = known ?? (await store.write((db) => makeClinic(db, nowMs)));
  const { clinicId, clinicianId } = clinic;
  await store.write((db) => changeClinicContact(db, clinicId, { phone: '0100 555 00', emergencyNumber: '' }));
  const [patientId, screeningId] = await store.write(async (db) => {
    const details = {
      name: 'Rosa Lind',
      spokenName: 'Rosa',
      sayAs: '',
      birthYear: 1944,
      language: 'en',
      zone,
    };
    const whole = { ...details, phone: '', email, hearingNotes: '', goals: [] };
    const before = known === undefined ? null : await patientById(db, clinicId, known.patientId);
    if (before !== null) {
      const { id, revision } = before;
      await changePatient(db, clinicId, { id, revision, details: whole, nowMs });
    }
    const id = before?.id ?? (await createPatient(db, clinicId, whole, nowMs));
    const answered = { patientId: id, answers: '{}', stops: false, clinicianId, nowMs };
    return [id, await addScreening(db, answered)] as const;
  });
  const secrets = await openReminderSecrets(store, nowMs);
  const recording = recordingChannel(now);
  const failures: unknown[] = [];
  const made: string[] = [];
  const messages = await readMessages(templates);
  const warningSigns = await readWarningSigns(templates);
  const telling = warningSigns.telling[warningUrgency(warningSigns, [])];
  const newRunner = (
    over: {
      store?: Store;
      channels?: ReadonlyMap<ChannelName, Channel>;
      ready?: Promise<void>;
      times?: SenderTimes;
      mayPlan?: () => Promise<boolean>;
      onSuperseded?: (steps: readonly string[]) => void;
    } = {},
  ) =>
    new Runner({
      store,
      channels: new Map([['mail', recording.channel]]),
      ...{ messages, secrets, now, address: 'https://clinic.example.org', random: () => 0.5 },
      dataFolder,
      makeAhead: async (_clinicId, id) => {
        made.push(id);
      },
      onFailure: (_what, error) => failures.push(error),
      ...over,
    });
  let runner = newRunner();
  const run = async () => {
    await runner.plan();
    await runner.planDigests();
    await runner.sendWarnings();
    await runner.send();
  };

  return {
    ...{ store, clinicId, clinicianId, patientId, secrets, made, failures, recording, newRunner, now },
    /** Who is told of something wrong that has no name. */
    telling,
    sent: recording.sent,
    /** The service was started anew. */
    restart: () => {
      runner = newRunner();
    },
    get runner() {
      return runner;
    },
    run,
    set: (atMs: number) => {
      nowMs = atMs;
    },
    /** Lets it become a time of a day, in the patient's first zone, and does what is due. */
    runAt: async (day: string, time: string) => {
      nowMs = wallClockInstant(day, time, zone);
      await run();
    },
    /** Every minute from one moment to another, both inclusive, as the clock does. */
    runEveryMinute: async (fromMs: number, untilMs: number) => {
      for (nowMs = fromMs; nowMs <= untilMs; nowMs += 60_000) await run();
      nowMs = untilMs;
    },
    agree: (kind: ConsentKind, caregiverId: string | null = null, isGiven = true) =>
      store.write((db) =>
        recordConsent(db, {
          ...{ patientId, caregiverId, kind, isGiven, clinicianId, nowMs },
          ...{ onDate: '2026-11-29', note: '' },
        }),
      ),
    addCaregiver: (caregiverEmail = 'jonas@example.org') =>
      store.write((db) => {
        const details = { name: 'Jonas Lind', relation: 'son', phone: '', email: caregiverEmail };
        return addCaregiver(db, patientId, details, { personId: null, nowMs });
      }),
    prescribe: (timetable: Partial<Timetable> = {}) =>
      store.write((db) =>
        createPrescription(db, patientId, {
          ...{ title: 'Home', content: contentOf(timetable), screeningId, reason: 'r' },
          ...{ signedBy: clinicianId, nowMs },
        }),
      ),
    sign: (prescriptionId: string, basedOn: number, timetable: Partial<Timetable>) =>
      store.write((db) =>
        signVersion(db, prescriptionId, basedOn, {
          ...{ title: 'Home', content: contentOf(timetable), screeningId, reason: 'r' },
          ...{ signedBy: clinicianId, nowMs },
        }),
      ),
    turn: (prescriptionId: string, state: 'active' | 'paused' | 'ended') =>
      store.write((db) => changeState(db, { prescriptionId, state, clinicianId, reason: 'r', nowMs })),
    giveLink: () =>
      store.write((db) =>
        makeLink(db, {
          ...{ clinicId, owner: { patientId }, tokenHash: randomUUID(), codeHash: randomUUID() },
          ...{ pinHash: null, clinicianId, nowMs, expiresAtMs: nowMs + 1e10 },
        }),
      ),
    listened: (prescriptionId: string, slot: string, linkId: string, step: 'started' | 'finished') =>
      store.write((db) =>
        saveSteps(db, [
          {
            ...{ id: `${slot} ${step}`, listeningId: slot, patientId, prescriptionId, versionNumber: 1 },
            ...{ sessionNumber: 1, slot, linkId, caregiverId: null, step, positionMs: 0 },
            ...{ atMs: nowMs, receivedAtMs: nowMs },
          },
        ]),
      ),
    changePatient: async (change: { zone?: string; email?: string }) => {
      await store.write(async (db) => {
        const patient = await patientById(db, clinicId, patientId);
        if (patient === null) throw new RangeError('the patient is there');
        const { id, revision, ...details } = patient;
        await changePatient(db, clinicId, { id, revision, details: { ...details, ...change }, nowMs });
      });
    },
    deliveries: (): Promise<ShownDelivery[]> =>
      store.read((db) => deliveriesOf(db, patientId, { sinceMs: 0, most: 1_000 })),
  };
}
export type World = Awaited<ReturnType<typeof openWorld>>;

function contentOf(timetable: Partial<Timetable>): string {
  return JSON.stringify({ format: 'stillcount-prescription/1', ...timetable, program: {} });
}
