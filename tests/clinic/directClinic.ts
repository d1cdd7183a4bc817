import { randomUUID } from 'node:crypto';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Actor } from '../../src/clinic/actor.js';
import type { Listener } from '../../src/clinic/listening/listener.js';
import { saveReport } from '../../src/clinic/listening/reports.js';
import { openChart } from '../../src/clinic/people/chart.js';
import type { Work } from '../../src/clinic/prescribing/drafts.js';
import { type Signed, signWork as sign } from '../../src/clinic/prescribing/signing.js';
import { findCorrectableRefusals } from '../../src/clinic/refusals.js';
import { Incidents } from '../../src/clinic/resources/incidents.js';
import { ReadVersions } from '../../src/clinic/resources/readVersions.js';
import type { Resources } from '../../src/clinic/resources/resources.js';
import { SessionLengths } from '../../src/clinic/resources/sessionLengths.js';
import { saveScreening } from '../../src/clinic/screening/screening.js';
import type { Content } from '../../src/prescription/programFindings.js';
import { openReminderSecrets } from '../../src/reminders/secrets.js';
import { RenderedSessionStore } from '../../src/session/renderedSessionStore.js';
import { openSoundSlots } from '../../src/session/soundSlots.js';
import { openClinicWorkshop } from '../../src/session/workshop.js';
import { listClinicians } from '../../src/store/accounts/clinicians.js';
import { endAccount, inviteColleague, joinClinic } from '../../src/store/accounts/colleagues.js';
import { openStore } from '../../src/store/engine/openStore.js';
import { makeLink } from '../../src/store/listening/listeningLinks.js';
import { type Patient, patientById } from '../../src/store/people/chart.js';
import { makeClinic, makePatient } from '../store/people.js';

/** A Wednesday morning in UTC, which is the zone of everybody here. */
const startMs = Date.UTC(2026, 10, 25, 9);
export const dayMs = 86_400_000;

type Service = Omit<Resources, 'words' | 'hearing' | 'limits' | 'zoneData'>;

/** What a clinic does, without a server and its pages: every command can be given by anybody, at any moment. */
export async function openDirectClinic() {
  const folder = await mkdtemp(join(tmpdir(), 'stillcount-direct-'));
  const store = await openStore({ kind: 'sqlite', file: join(folder, 'clinic.db') });
  // What was read and spoken is the same for all; sessions are kept apart, below.
  const dataFolder = process.env.STILLCOUNT_TEST_SPOKEN || folder;
  const workshop = await openClinicWorkshop({ dataFolder, templatesFolder: 'audio-templates' });
  let nowMs = startMs;
  const now = () => nowMs;
  const service: Service = {
    ...{ store, workshop, now },
    shelf: new RenderedSessionStore(
      workshop,
      join(folder, 'cache', 'sessions'),
      openSoundSlots({ tooMuch: () => new Error('too much') }),
    ),
    lengths: new SessionLengths(),
    versions: new ReadVersions(workshop),
    reminderSecrets: await openReminderSecrets(store, nowMs),
    channelNames: new Set(),
    life: { isStopping: false, standsStill: () => [], faults: () => [] },
    incidents: new Incidents({ store, log: () => undefined, now }),
  };
  const { clinicId, clinicianId } = await store.write((db) => makeClinic(db, nowMs));
  const other = await store.write((db) => makeClinic(db, nowMs, 'eve@example.org'));
  const clinicianOf = (id: string) =>
    store.read((db) => listClinicians(db).where('clinician.id', '=', id).executeTakeFirstOrThrow());
  const [ada, eve] = [await clinicianOf(clinicianId), await clinicianOf(other.clinicianId)];
  /** Ada on a page, now. */
  const actor = (more: Partial<Actor> = {}): Actor => ({
    ...{ clinician: ada, accessKeyId: null, mayWrite: true, nowMs },
    ...more,
  });
  const reader = (): Actor => actor({ clinician: { ...ada, role: 'read-only' }, mayWrite: false });

  async function person(name = 'Rosa Lind'): Promise<Patient> {
    const found = await store.write(async (db) =>
      patientById(db, clinicId, await makePatient(db, clinicId, nowMs, name)),
    );
    if (found === null) throw new RangeError('the patient is there');
    return found;
  }
  /** Answers No to every question but those named. */
  const answersWith = (yes: readonly string[], unsure: readonly string[] = []) =>
    Object.fromEntries(
      workshop.interview.precautions.map(({ id }) => {
        const answer = yes.includes(id) ? 'yes' : unsure.includes(id) ? 'unsure' : 'no';
        return [id, { answer, details: answer === 'no' ? '' : 'left side, since spring' } as const];
      }),
    );
  const screen = ({ id: patientId }: Patient, yes: readonly string[] = [], by = actor()) =>
    saveScreening(service, by, { patientId, answers: answersWith(yes) });
  /** Five ankle pumps, or what else is said. */
  const contentOf = (program: object = {}, more: object = {}): Content => ({
    ...{ format: 'stillcount-prescription/1', timesADay: 1, daysAWeek: 7 },
    program: {
      ...{ format: 'stillcount-program/1', title: 'Short program', listener: { name: 'Rosa' } },
      session: { number: 1, seed: 1 },
      exercises: [{ exercise: 'ankle-pumps', dose: { sets: 1, reps: 5 } }],
      ...program,
    },
    ...more,
  });
  const workOn = (patient: Patient, content: Content, on: Partial<Work> = {}): Work => ({
    ...{ patient, content, prescriptionId: null, basedOn: 0, workId: randomUUID() },
    ...on,
  });
  const chart = (patient: Patient) => openChart(store, clinicId, patient);
  const signWork = (work: Work, by = actor(), reason = 'A short start'): Promise<Signed> =>
    sign(service, by, chart(work.patient), work, reason);
  /** @returns the id of the new program */
  async function prescribe(patient: Patient, content = contentOf()): Promise<string> {
    const signed = await signWork(workOn(patient, content));
    if (signed.kind !== 'signed') throw new Error(`not signed: ${JSON.stringify(signed)}`);
    return signed.prescriptionId;
  }
  /** Whoever opens the page of some patients with one link. */
  async function listenerOf(patient: Patient, pinHash: string | null = null): Promise<Listener> {
    const [tokenHash, codeHash] = [randomUUID(), randomUUID()];
    const owner = { patientId: patient.id };
    const rest = { clinicId, clinicianId, nowMs, expiresAtMs: nowMs + 200 * dayMs };
    const linkId = await store.write((db) => makeLink(db, { owner, tokenHash, codeHash, pinHash, ...rest }));
    const patients = [{ patientId: patient.id, caregiverId: null }];
    return { linkId, clinicId, owner, isCaregiver: false, patients };
  }
  /** What a phone tells about the first session of a program. */
  const about = (patient: Patient, prescriptionId: string) => ({
    ...{ id: randomUUID(), listeningId: randomUUID(), patientId: patient.id, prescriptionId },
    ...{ versionNumber: 1, sessionNumber: 1, slot: '2026-11-25#1', atMs: nowMs },
  });
  const report = (listener: Listener, items: readonly object[]) =>
    saveReport(service, listener, { sentAtMs: nowMs, items });
  const warn = async (patient: Patient, prescriptionId: string, signs: readonly string[] = ['faint']) => {
    const warning = { kind: 'warning', ...about(patient, prescriptionId), signs, positionMs: null };
    await report(await listenerOf(patient), [warning]);
    return warning.id;
  };

  /** @returns the id of somebody else with an account of the clinic */
  const colleague = () =>
    store.write(async (db) => {
      const tokenHash = randomUUID();
      await inviteColleague(db, { tokenHash, clinicId, role: 'clinician', nowMs, expiresAtMs: nowMs + 1 });
      const email = `${tokenHash}@example.org`;
      const joined = await joinClinic(db, { tokenHash, name: 'Ben', email, passwordHash: 'h', nowMs });
      if (joined === null) throw new RangeError('the invitation is new');
      return joined.clinicianId;
    });
  const endColleague = (id: string) =>
    store.write((db) => endAccount(db, clinicId, { clinicianId: id, nowMs }));

  return {
    ...{ service, store, workshop, clinicId, clinicianId, ada, eve, now, actor, reader, person, screen },
    ...{ answersWith, contentOf, workOn, signWork, prescribe, listenerOf, about, report, warn },
    ...{ colleague, endColleague, chart },
    /** Lets time go by. */
    pass: (ms: number) => {
      nowMs += ms;
    },
    remove: async () => {
      await service.shelf.close();
      await service.incidents.flush();
      await store.close();
      await rm(folder, { recursive: true, force: true });
    },
  };
}
export type DirectClinic = Awaited<ReturnType<typeof openDirectClinic>>;

/** By which codes something is refused that can be mended; anything else fails the test. */
export async function refused(command: () => Promise<unknown>): Promise<string> {
  try {
    await command();
  } catch (error) {
    const refusals = findCorrectableRefusals(error);
    if (refusals === null) throw error;
    return refusals.map(({ code, field }) => `${field ?? ''} ${code}`).join();
  }
  throw new Error('it was accepted');
}
