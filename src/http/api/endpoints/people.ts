import { z } from 'zod';
import { readPatient } from '../../../clinic/people/chart.js';
import { addPerson, changePerson, personSchema } from '../../../clinic/people/people.js';
import { Refused } from '../../../clinic/refusals.js';
import { text } from '../../../clinic/values.js';
import { attentionOf } from '../../../store/attention/attention.js';
import { listPatients } from '../../../store/people/patients.js';
import { type Endpoint, endpoint } from '../endpoint/endpoint.js';
import * as results from '../endpoint/results.js';

export const peopleEndpoints: readonly Endpoint[] = [
  endpoint({
    method: 'post',
    path: '/people/search',
    summary:
      'Searches the clinic’s patients by name, 50 at a time. This is a POST so that no name appears in a URL.',
    body: z.strictObject({
      q: text(100).default('').describe('Parts of a name; empty for all patients.'),
      after: z.uuid().optional().describe('The `next` value of the previous page.'),
    }),
    result: results.people,
    async handle({ service, actor, body: { q, after } }) {
      const { clinicId } = actor.clinician;
      const page = await service.store.read((db) => listPatients(db, clinicId, q, after));
      return { people: page.patients, next: page.hasMore ? (page.patients.at(-1)?.id ?? null) : null };
    },
  }),
  endpoint({
    method: 'post',
    path: '/people',
    summary: 'Adds a patient.',
    body: personSchema,
    result: results.made,
    status: 201,
    async handle({ service, actor, body }) {
      return { id: await addPerson(service, actor, body) };
    },
  }),
  endpoint({
    method: 'get',
    path: '/people/{id}',
    summary: 'A patient’s details.',
    result: results.person,
    async handle({ service, actor, params }) {
      const patient = await readPatient(service, actor, params.id ?? '');
      return { ...patient, goals: [...patient.goals] };
    },
  }),
  endpoint({
    method: 'put',
    path: '/people/{id}',
    summary: 'Changes a patient’s details, based on a revision.',
    body: personSchema.extend({
      revision: z
        .int()
        .min(1)
        .max(2 ** 31 - 1),
    }),
    result: results.person,
    async handle({ service, actor, params, body: { revision, ...person } }) {
      const patient = await readPatient(service, actor, params.id ?? '');
      const result = await changePerson(service, actor, { id: patient.id, revision, person });
      if (result.kind === 'refused') throw new Refused(result.refusals);
      const changed = await readPatient(service, actor, patient.id);
      return { ...changed, goals: [...changed.goals] };
    },
  }),
  endpoint({
    method: 'get',
    path: '/attention',
    summary:
      'Patients who need attention, and why: warning signs first, then notes that may name one, then everything else; within each, longest waiting first. At most 100 entries, but always every warning sign and every such note.',
    result: results.attention,
    async handle({ service, actor }) {
      const found = await service.store.read((db) => attentionOf(db, actor.clinician.clinicId, 100));
      const first = found.first.map(({ patientId, patientName, ...reason }) => ({
        personId: patientId,
        name: patientName,
        ...reason,
      }));
      return { total: found.total, first };
    },
  }),
];
