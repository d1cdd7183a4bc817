import { z } from 'zod';
import { inputError } from '../../errors/stillcountError.js';
import { spokenNameSchema } from '../../program/schema.js';
import { auditTrail, record } from '../../store/audit.js';
import {
  changePatient,
  createPatient,
  listPatients,
  type Patient,
  type PatientDetails,
  patientById,
} from '../../store/patients.js';
import { prescriptionsOf } from '../../store/prescriptions.js';
import { field } from '../forms/fields.js';
import { line, problemsOf, text, zoneSchema, zones } from '../forms/values.js';
import { dayInWords, timeInWords } from '../forms/words.js';
import { type Answer, type MemberVisit, Routes, requireMayWrite } from '../routing.js';
import type { Service } from '../service.js';

const earliestBirthYear = 1900;

const detailsSchema = z.object({
  name: line(500),
  spokenName: z.union([z.literal(''), spokenNameSchema]),
  sayAs: z.union([z.literal(''), spokenNameSchema]),
  birthYear: z.union([z.literal('').transform(() => null), z.coerce.number().int().min(earliestBirthYear)]),
  zone: zoneSchema,
  phone: text(60),
  email: z.union([z.literal(''), z.email({ error: 'an e-mail address' }).max(254)]),
  hearingNotes: text(500),
  goals: z
    .string()
    .max(2000)
    .transform((lines) => lines.split(/\r?\n/).map((goal) => goal.trim()))
    .pipe(z.array(text(300)))
    .transform((goals) => goals.filter((goal) => goal !== '')),
});
const detailNames = [
  'name',
  'spokenName',
  'sayAs',
  'birthYear',
  'zone',
  'phone',
  'email',
  'hearingNotes',
  'goals',
] as const;

/** The list of people, one person's page, and changing what is written down about them. */
export function peopleRoutes(service: Service): Routes {
  const { store } = service;
  const typed = (visit: MemberVisit) =>
    Object.fromEntries(detailNames.map((name) => [name, field(visit.fields, name)]));

  const formPage = (form: {
    heading: string;
    values: object;
    revision?: number;
    problems?: object[];
  }): Answer => ({
    kind: 'page',
    page: 'patient-form',
    title: form.heading,
    status: form.problems === undefined ? 200 : 400,
    view: { ...form, zones, hasProblems: form.problems !== undefined },
  });

  async function savedDetails(visit: MemberVisit): Promise<PatientDetails | z.ZodError> {
    requireMayWrite(visit);
    const details = detailsSchema.safeParse(typed(visit));
    if (!details.success) return details.error;
    // The first word of a name is a friendly guess when nothing else is given, if it can be said at all.
    const [firstWord = ''] = details.data.name.split(/\s+/);
    const guess = spokenNameSchema.safeParse(firstWord).success ? firstWord : '';
    return { ...details.data, spokenName: details.data.spokenName || guess, language: 'en' };
  }

  return new Routes(service)
    .member('get', '/', async (visit) => {
      const q = field(visit.query, 'q').slice(0, 100);
      const after = placeOf(field(visit.query, 'after'));
      const patients = await store.read((db) => listPatients(db, visit.clinician.clinicId, q, after));
      const last = patients.length === 50 ? patients.at(-1) : undefined;
      return {
        kind: 'page',
        page: 'home',
        title: 'People',
        view: {
          q,
          hasPatients: patients.length > 0,
          patients: patients.map(({ id, name, birthYear }) => ({ id, name, born: birthYear })),
          more:
            last === undefined
              ? null
              : `/?${new URLSearchParams({ q, after: `${last.id} ${last.searchName}` })}`,
        },
      };
    })
    .member('get', '/patients/new', async (visit) => {
      requireMayWrite(visit);
      return formPage({ heading: 'New person', values: { zone: visit.clinician.clinicZone } });
    })
    .member('post', '/patients/new', async (visit) => {
      const details = await savedDetails(visit);
      if (details instanceof z.ZodError) {
        return formPage({ heading: 'New person', values: typed(visit), problems: problemsOf(details) });
      }
      const { clinicId, id: clinicianId } = visit.clinician;
      const id = await store.write(async (db) => {
        const patientId = await createPatient(db, clinicId, details, visit.nowMs);
        const entry = { clinicId, clinicianId, patientId, subject: patientId, atMs: visit.nowMs };
        await record(db, { ...entry, action: 'patient-added' });
        return patientId;
      });
      return { kind: 'redirect', to: `/patients/${id}` };
    })
    .member('get', '/patients/:id', async (visit) => {
      const patient = await readPatient(service, visit);
      const prescriptions = await store.read((db) =>
        prescriptionsOf(db, visit.clinician.clinicId, patient.id),
      );
      return {
        kind: 'page',
        page: 'patient',
        title: patient.name,
        view: {
          patient,
          goals: patient.goals,
          hasGoals: patient.goals.length > 0,
          hasPrescriptions: prescriptions.length > 0,
          prescriptions: prescriptions.map((each) => ({
            id: each.id,
            title: each.title,
            stateWords: { active: 'Running', paused: 'Paused', ended: 'Ended' }[each.state],
            number: each.newestVersion,
            signed: dayInWords(each.signedAtMs, visit.clinician.clinicZone),
            by: each.signedByName,
          })),
          mayWrite: visit.clinician.role !== 'read-only',
        },
      };
    })
    .member('get', '/patients/:id/edit', async (visit) => {
      requireMayWrite(visit);
      const patient = await readPatient(service, visit);
      const values = { ...patient, goals: patient.goals.join('\n') };
      return formPage({ heading: `Change ${patient.name}`, values, revision: patient.revision });
    })
    .member('post', '/patients/:id/edit', async (visit) => {
      const patient = await readPatient(service, visit);
      const heading = `Change ${patient.name}`;
      const revision = Number(field(visit.fields, 'revision'));
      const details = await savedDetails(visit);
      if (details instanceof z.ZodError) {
        return formPage({ heading, values: typed(visit), revision, problems: problemsOf(details) });
      }
      const { clinicId, id: clinicianId } = visit.clinician;
      const changed = await store.write(async (db) => {
        const done = await changePatient(db, clinicId, { id: patient.id, revision, details });
        const entry = {
          clinicId,
          clinicianId,
          patientId: patient.id,
          subject: patient.id,
          atMs: visit.nowMs,
        };
        if (done) await record(db, { ...entry, action: 'patient-changed' });
        return done;
      });
      if (changed) return { kind: 'redirect', to: `/patients/${patient.id}` };
      const theirs = differencesOf(details, patient);
      const message = `Somebody else has changed this person meanwhile. Theirs: ${theirs}. Yours is below; save again to keep yours.`;
      return formPage({ heading, values: typed(visit), revision: patient.revision, problems: [{ message }] });
    })
    .member('get', '/records', async (visit) => {
      const { clinicId, clinicZone } = visit.clinician;
      const patientId = field(visit.query, 'patient');
      const before = Number(field(visit.query, 'before'));
      const entries = await store.read((db) =>
        auditTrail(db, clinicId, {
          ...(patientId === '' ? {} : { patientId }),
          ...(Number.isSafeInteger(before) && before > 0 ? { before } : {}),
        }),
      );
      const last = entries.length === 100 ? entries.at(-1)?.sequence : undefined;
      return {
        kind: 'page',
        page: 'records',
        title: 'Who did what',
        view: {
          patientName: patientId === '' ? null : (entries[0]?.patientName ?? null),
          hasEntries: entries.length > 0,
          entries: entries.map((entry) => ({
            when: timeInWords(entry.atMs, clinicZone),
            who: entry.clinicianName ?? 'The service',
            what: `${actionWords[entry.action] ?? entry.action}${entry.patientName === null ? '' : ` — ${entry.patientName}`}`,
          })),
          more:
            last === undefined
              ? null
              : `/records?before=${last}${patientId === '' ? '' : `&patient=${encodeURIComponent(patientId)}`}`,
        },
      };
    });
}

const actionWords: Readonly<Record<string, string>> = {
  'clinic-set-up': 'Set up the clinic',
  'colleague-invited': 'Invited a colleague',
  'colleague-joined': 'Joined the clinic',
  'account-ended': 'Ended an account',
  'signed-in': 'Signed in',
  'second-step-set-up': 'Set up a second step',
  'second-step-removed': 'Took the second step away',
  'patient-added': 'Added a person',
  'patient-read': 'Read a record',
  'patient-changed': 'Changed a record',
  'prescription-signed': 'Signed a version',
  'prescription-paused': 'Paused a program',
  'prescription-active': 'Resumed a program',
  'prescription-ended': 'Ended a program',
  'prescription-read': 'Read a program',
};

/**
 * A person of the visitor's clinic; that the record was read is written down first.
 *
 * @throws StillcountError kind `input` when there is none; it does not tell whether another clinic has one
 */
export async function readPatient(service: Service, visit: MemberVisit): Promise<Patient> {
  const id = visit.params.id ?? '';
  const { clinicId, id: clinicianId } = visit.clinician;
  const patient = await service.store.write(async (db) => {
    const found = await patientById(db, clinicId, id);
    if (found !== null) {
      const entry = { clinicId, clinicianId, patientId: found.id, subject: found.id, atMs: visit.nowMs };
      await record(db, { ...entry, action: 'patient-read' });
    }
    return found;
  });
  return patient ?? nobody();
}

/** The same while work on an open page goes on: that the record was read is on the trail already. */
export async function patientAtWork(service: Service, visit: MemberVisit): Promise<Patient> {
  const id = visit.params.id ?? '';
  return (await service.store.read((db) => patientById(db, visit.clinician.clinicId, id))) ?? nobody();
}

function nobody(): never {
  throw inputError({ path: 'not-found', message: 'there is no such person here' });
}

function differencesOf(mine: PatientDetails, theirs: PatientDetails): string {
  const shown = (value: unknown) =>
    (Array.isArray(value) ? value.join('; ') : String(value ?? '')) || 'empty';
  const different = detailNames.filter((key) => shown(mine[key]) !== shown(theirs[key]));
  return different.map((key) => `${key} ${shown(theirs[key])}`).join(', ') || 'the same as yours';
}

function placeOf(after: string): { id: string; searchName: string } | undefined {
  const at = after.indexOf(' ');
  return at < 0 ? undefined : { id: after.slice(0, at), searchName: after.slice(at + 1) };
}
