import { z } from 'zod';
import {
  caregiverSchema,
  consentSchema,
  linkCaregiver,
  saveConsent,
  unlinkCaregiver,
} from '../../../clinic/people/care.js';
import { saveScreening } from '../../../clinic/screening/screening.js';
import { screeningAnswersSchema } from '../../../screening/answers.js';
import { caregiversOf, consentsOf } from '../../../store/people/caregivers.js';
import { screeningsOf } from '../../../store/people/chart.js';
import { type Endpoint, endpoint } from '../endpoint/endpoint.js';
import * as results from '../endpoint/results.js';
import { personList } from './personList.js';

export const careEndpoints: readonly Endpoint[] = [
  endpoint({
    method: 'get',
    path: '/screening-questions',
    summary: 'The questions of the precaution interview.',
    result: z.array(results.question),
    handle: async ({ service }) =>
      service.workshop.interview.precautions.map((each) => ({ ...each, help: each.help ?? null })),
  }),
  personList(
    '/people/{id}/screenings',
    'A patient’s screenings, newest first.',
    results.screening,
    async (db, { id }) => {
      const taken = await screeningsOf(db, id);
      return taken.map(({ answers, ...each }) => ({
        ...each,
        answers: answers === null ? null : screeningAnswersSchema.parse(JSON.parse(answers)),
      }));
    },
  ),
  endpoint({
    method: 'post',
    path: '/people/{id}/screenings',
    summary: 'Records a screening; every question needs an answer, unless one answer stops all exercise.',
    body: z.strictObject({ answers: screeningAnswersSchema }),
    result: results.made,
    status: 201,
    async handle({ service, actor, params, body }) {
      return { id: await saveScreening(service, actor, { patientId: params.id ?? '', ...body }) };
    },
  }),
  personList('/people/{id}/caregivers', 'A patient’s caregivers.', results.caregiver, (db, { id }) =>
    caregiversOf(db, id),
  ),
  endpoint({
    method: 'post',
    path: '/people/{id}/caregivers',
    summary: 'Adds a caregiver, who sees and receives nothing until the patient agrees.',
    body: caregiverSchema,
    result: results.made,
    status: 201,
    async handle({ service, actor, params, body }) {
      return { id: await linkCaregiver(service, actor, params.id ?? '', body) };
    },
  }),
  endpoint({
    method: 'delete',
    path: '/people/{id}/caregivers/{caregiverId}',
    summary: 'Ends a caregiver’s access.',
    async handle({ service, actor, params }) {
      await unlinkCaregiver(service, actor, params.id ?? '', params.caregiverId ?? '');
    },
  }),
  personList(
    '/people/{id}/consents',
    'The patient’s latest answer to each item that needs consent.',
    results.consent,
    (db, { id }) => consentsOf(db, id),
  ),
  endpoint({
    method: 'post',
    path: '/people/{id}/consents',
    summary: 'Records a patient’s consent, or its withdrawal.',
    body: consentSchema,
    async handle({ service, actor, params, body }) {
      await saveConsent(service, actor, params.id ?? '', body);
    },
  }),
];
