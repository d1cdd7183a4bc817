import type { z } from 'zod';
import { requireMayWrite } from '../../../clinic/actor.js';
import { readPatient } from '../../../clinic/people/chart.js';
import { addPerson, changePerson, type Person, personSchema } from '../../../clinic/people/people.js';
import { problemsOf, wholeNumber, zones } from '../../../clinic/values.js';
import type { PatientDetails } from '../../../store/people/patients.js';
import { field } from '../../forms/fields.js';
import type { PageResources } from '../../server/routing.js';
import { type AuthenticatedRequest, type PageReply, Routes } from '../../server/routing.js';

const textNames = ['name', 'spokenName', 'sayAs', 'zone', 'phone', 'email', 'hearingNotes'] as const;

/** Entering a patient's details, and changing them. */
export function patientFormRoutes(service: PageResources): Routes {
  const { words } = service;

  const formPage = (form: {
    /** Null for a new patient. */
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

  return new Routes(service)
    .authenticatedRoute('get', '/patients/new', async (request) => {
      requireMayWrite(request);
      return formPage({ patientName: null, values: { zone: request.clinician.clinicZone } });
    })
    .authenticatedRoute('post', '/patients/new', async (request) => {
      const person = personSchema.safeParse(typed(request));
      if (!person.success) {
        return formPage({ patientName: null, values: shown(request), problems: worded(person.error) });
      }
      const id = await addPerson(service, request, person.data);
      // The next step for a new patient.
      return { kind: 'redirect', to: `/patients/${id}/screening` };
    })
    .authenticatedRoute('get', '/patients/:id/edit', async (request) => {
      requireMayWrite(request);
      const patient = await readPatient(service, request, request.params.id ?? '');
      const values = { ...patient, goals: patient.goals.join('\n') };
      return formPage({ patientName: patient.name, values, revision: patient.revision });
    })
    .authenticatedRoute('post', '/patients/:id/edit', async (request) => {
      const patient = await readPatient(service, request, request.params.id ?? '');
      const patientName = patient.name;
      const revision = wholeNumber(field(request.fields, 'revision'));
      const person = personSchema.safeParse(typed(request));
      if (!person.success) {
        return formPage({ patientName, values: shown(request), revision, problems: worded(person.error) });
      }
      const change = { id: patient.id, revision, person: person.data };
      const result = await changePerson(service, request, change);
      if (result.kind === 'done') return { kind: 'redirect', to: `/patients/${patient.id}` };
      const theirs = differencesOf(person.data, patient);
      const message = `Someone else edited this record in the meantime. Their changes: ${theirs}. Yours are below; save again to keep yours.`;
      return formPage({
        patientName,
        values: shown(request),
        revision: patient.revision,
        problems: [{ message }],
      });
    });

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

/** The fields as a patient's details. */
function typed(request: AuthenticatedRequest): object {
  const { birthYear = '', goals = '', ...texts } = shown(request);
  return {
    ...texts,
    birthYear: birthYear === '' ? null : Number(birthYear),
    goals: goals
      .split(/\r?\n/)
      .map((goal) => goal.trim())
      .filter((goal) => goal !== ''),
  };
}
