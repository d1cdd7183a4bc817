import { randomUUID } from 'node:crypto';
import { setContact } from '../clinic/accounts/clinicSettings.js';
import { hashPassword } from '../clinic/accounts/passwords.js';
import type { Actor } from '../clinic/actor.js';
import { saveMeasureEntry } from '../clinic/followup/measures.js';
import { addActivity } from '../clinic/followup/ownMeasures.js';
import { createLink, type NewLink } from '../clinic/listening/links.js';
import type { Listener } from '../clinic/listening/listener.js';
import type { PreparationResources } from '../clinic/listening/prepareSessions.js';
import { startBreak } from '../clinic/people/breaks.js';
import { linkCaregiver, saveConsent } from '../clinic/people/care.js';
import { openChart, readPatientDuringWork, readPrescriptionDuringWork } from '../clinic/people/chart.js';
import { addPerson, personSchema } from '../clinic/people/people.js';
import { changeProgramState, saveAsClinicProgram } from '../clinic/prescribing/prescriptions.js';
import { signWork } from '../clinic/prescribing/signing.js';
import { starterContent } from '../clinic/prescribing/starters.js';
import { setReminderRules } from '../clinic/reminding/reminders.js';
import type { Resources } from '../clinic/resources/resources.js';
import { saveScreening } from '../clinic/screening/screening.js';
import { hashToken, newToken } from '../clinic/tokens.js';
import { looseProgram, unchosenSide } from '../prescription/looseProgram.js';
import { type Content, programFindings } from '../prescription/programFindings.js';
import { addDays } from '../schedule/wallClock.js';
import type { Finding } from '../screening/findings.js';
import type { Settlements } from '../screening/settlements.js';
import { clinicianByEmail, createFirstClinic, inviteFirstOwner } from '../store/accounts/clinicians.js';
import { markPlannedUntil } from '../store/attention/reminderWatch.js';
import { ownMeasuresOf } from '../store/followup/measures.js';
import { type Prescription, prescriptionsOf, versionsOf } from '../store/people/chart.js';
import { isoDay } from '../text/dates.js';
import { dayMs } from '../time/units.js';
import { seedListening } from './listening.js';
import { seedReminders } from './reminded.js';
import { demoClinic, stories } from './stories.js';
import type { Happening, Story } from './story.js';

type Signing = Extract<Happening, { do: 'sign' }>;

export type Demo = {
  email: string;
  password: string;
  /** The path of a patient's listening page. */
  listenAt: string;
  listener: Listener;
};

/** The resources that the commands need to create the invented clinic. */
type SeedResources = PreparationResources & Pick<Resources, 'words'>;

/**
 * Fills an empty database with an invented clinic and eight weeks of its history, using the same commands as the pages.
 *
 * @returns how to sign in, and the listening link of one patient; both are new each time
 */
export async function seedDemo(service: SeedResources): Promise<Demo> {
  const password = newToken().slice(0, 16);
  const nowMs = service.now();
  const tokenHash = hashToken(newToken());
  const startedMs = nowMs - 57 * dayMs;
  const passwordHash = await hashPassword(password);
  const clinician = await service.store.write(async (db) => {
    await inviteFirstOwner(db, { tokenHash, nowMs: startedMs, expiresAtMs: nowMs });
    await createFirstClinic(db, { ...demoClinic, tokenHash, passwordHash, nowMs: startedMs });
    return clinicianByEmail(db, demoClinic.email);
  });
  if (clinician === null) throw new RangeError('the demo clinic has no owner');
  const actorAt = (daysAgo: number, minutes: number): Actor => ({
    clinician,
    accessKeyId: null,
    mayWrite: true,
    // From eight in the morning on; today's events are a moment ago.
    nowMs: Math.min(nowMs, Math.floor(nowMs / dayMs - daysAgo) * dayMs + (7 * 60 + minutes) * 60_000),
  });
  const links: NewLink[] = [];
  await setContact(service, actorAt(57, 1), { phone: '0100 555 00', emergencyNumber: '112' });
  for (const [index, story] of stories.entries()) {
    const link = await tell(service, story, index, actorAt);
    if (link !== null) links.push(link);
  }
  await service.store.write((db) => markPlannedUntil(db, nowMs));
  const [first] = links;
  if (first?.listener == null) throw new RangeError('nobody in the demo listens');
  const signIn = { email: demoClinic.email, password };
  return { ...signIn, listenAt: `/l/${first.token}/`, listener: first.listener };
}

async function tell(
  service: SeedResources,
  { person, days, listens, reminded }: Story,
  index: number,
  actorAt: (daysAgo: number, minutes: number) => Actor,
): Promise<NewLink | null> {
  const firstDay = days[0]?.[0] ?? 0;
  const minutes = index * 15;
  const patientId = await addPerson(service, actorAt(firstDay, minutes), personSchema.parse(person));
  for (const [daysAgo, ...happenings] of days) {
    for (const [step, happening] of happenings.entries()) {
      await happen(service, actorAt(daysAgo, minutes + step + 1), patientId, happening);
    }
  }
  if (listens === undefined) return null;
  const who = { patientId, caregiverId: null, pin: '' };
  const link = await createLink(service, actorAt(firstDay, minutes + 30), who);
  const [prescription] = await programsOf(service, actorAt(0, 0), patientId);
  if (prescription !== undefined && link.listener !== null) {
    await seedListening(service, link.listener, { prescription, person, listens });
    const { clinicId } = actorAt(0, 0).clinician;
    if (reminded !== undefined) await seedReminders(service, { clinicId, prescription, reminded });
  }
  return link;
}

function programsOf(
  { store }: Pick<Resources, 'store'>,
  { clinician }: Actor,
  patientId: string,
): Promise<Prescription[]> {
  return store.read((db) => prescriptionsOf(db, clinician.clinicId, patientId));
}

async function happen(
  service: SeedResources,
  actor: Actor,
  patientId: string,
  what: Happening,
): Promise<void> {
  const today = isoDay(actor.nowMs, demoClinic.zone);
  switch (what.do) {
    case 'screen': {
      const answers = service.workshop.interview.precautions.map(({ id }) => {
        const details = what.yes[id];
        return [id, { answer: details === undefined ? 'no' : 'yes', details: details ?? '' }] as const;
      });
      await saveScreening(service, actor, { patientId, answers: Object.fromEntries(answers) });
      return;
    }
    case 'sign':
      return signNext(service, actor, patientId, what);
    case 'caregiver': {
      const caregiverId = await linkCaregiver(service, actor, patientId, { ...what.details, personId: null });
      for (const kind of what.agreedTo) {
        const consent = { kind, caregiverId, isGiven: true, onDate: today, note: '' };
        await saveConsent(service, actor, patientId, consent);
      }
      await createLink(service, actor, { patientId, caregiverId, pin: '' });
      return;
    }
    case 'consent': {
      const { kind, isGiven, note } = what;
      return saveConsent(service, actor, patientId, {
        kind,
        caregiverId: null,
        isGiven,
        onDate: today,
        note,
      });
    }
    case 'agree':
      return setReminderRules(service, actor, patientId, what.rules);
    case 'break': {
      const { kind, fromDaysAgo, days, note } = what;
      const fromDay = addDays(isoDay(service.now(), demoClinic.zone), -fromDaysAgo);
      return startBreak(service, actor, patientId, {
        kind,
        fromDay,
        untilDay: addDays(fromDay, days - 1),
        note,
      });
    }
    case 'keep':
      await saveAsClinicProgram(service, actor, await ownProgram(service, actor, patientId), what.title);
      return;
    case 'activity':
      return addActivity(service, actor, patientId, { name: what.name });
    case 'measure': {
      for (const [name, value] of Object.entries(what.values)) {
        await measure(service, actor, patientId, { name, value, takenOn: today });
      }
      return;
    }
    default: {
      const step = { state: what.do, reason: what.reason };
      return changeProgramState(service, actor, await ownProgram(service, actor, patientId), step);
    }
  }
}

/** @param name the id of a measure, or the name of an activity */
async function measure(
  service: Pick<Resources, 'store' | 'workshop' | 'words'>,
  actor: Actor,
  patientId: string,
  { name, value, takenOn }: { name: string; value: string; takenOn: string },
): Promise<void> {
  const { clinicId } = actor.clinician;
  const own = await service.store.read((db) => ownMeasuresOf(db, { clinicId, patientId }));
  const measureId = own.find((each) => each.name === name)?.id ?? name;
  const entry = { entryId: randomUUID(), measureId, value, takenOn, note: '', confirmed: '' };
  const entered = await saveMeasureEntry(service, actor, patientId, entry);
  if (entered.kind !== 'kept') throw new RangeError(`a demo measure is asked about: ${name} ${value}`);
}

async function ownProgram(service: Pick<Resources, 'store'>, actor: Actor, patientId: string) {
  const [newest] = await programsOf(service, actor, patientId);
  return readPrescriptionDuringWork(service, actor, newest?.id ?? '');
}

async function signNext(
  service: SeedResources,
  actor: Actor,
  patientId: string,
  what: Signing,
): Promise<void> {
  const { store } = service;
  const patient = await readPatientDuringWork(service, actor, patientId);
  const isNew = what.starter !== undefined;
  const existing = isNew ? null : await ownProgram(service, actor, patientId);
  const [newest] =
    existing === null ? [] : await store.read((db) => versionsOf(db, existing.prescription.id));
  const listener = { name: patient.spokenName };
  const starter = { id: what.starter ?? '', clinicId: actor.clinician.clinicId };
  const content: Content =
    newest?.content == null ? await starterContent(service, starter, listener) : JSON.parse(newest.content);
  const { timesADay, weekdayTimes, reviewInDays } = what;
  const today = isoDay(service.now(), demoClinic.zone);
  const changed = {
    ...content,
    ...(timesADay === undefined ? {} : { timesADay }),
    ...(weekdayTimes === undefined ? {} : { weekdayTimes }),
    ...(reviewInDays === undefined ? {} : { reviewOn: addDays(today, reviewInDays) }),
  };
  const program = { ...Object(content.program), exercises: exercisesAfter(content, what) };
  const chart = openChart(store, actor.clinician.clinicId, patient);
  const screening = await chart.screening();
  const findings = programFindings({ program }, screening?.answers ?? {}, service.workshop);
  const settlements = settled(findings, isoDay(actor.nowMs, demoClinic.zone));
  const work = {
    patient,
    workId: null,
    prescriptionId: existing?.prescription.id ?? null,
    basedOn: newest?.number ?? 0,
    content: { ...changed, settlements, program },
  };
  const outcome = await signWork(service, actor, chart, work, what.reason);
  if (outcome.kind !== 'signed')
    throw new RangeError(`a demo program cannot be signed: ${JSON.stringify(outcome)}`);
}

function exercisesAfter(content: Content, { side, doses = {}, add = [] }: Signing): object[] {
  const { exercises } = looseProgram(content.program);
  // Getting out of bed stays at the end.
  const [last] = exercises.slice(-1);
  const changed = exercises.map((entry) => ({
    ...entry,
    ...(entry.side === unchosenSide ? { side } : {}),
    dose: { ...entry.dose, ...doses[entry.exercise] },
  }));
  const added = add.map((exercise) => ({ exercise, isNew: true }));
  return last === undefined || added.length === 0 ? changed : [...changed.slice(0, -1), ...added, last];
}

/** Resolves each finding as the rules ask; everyone in the story was examined. */
function settled(findings: readonly Finding[], today: string): Settlements {
  return Object.fromEntries(
    findings.map(({ rule, answered, exercises }) => [
      rule.id,
      {
        exercises: [...exercises],
        answered,
        isArranged: rule.measure === 'change',
        clearedBy: rule.clearedBy === undefined ? '' : `${rule.clearedBy}, by telephone`,
        clearedOn: rule.clearedBy === undefined ? '' : today,
        reason: '',
      },
    ]),
  );
}
