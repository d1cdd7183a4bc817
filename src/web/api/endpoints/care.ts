import { z } from 'zod';
import { screeningAnswersSchema } from '../../../screening/answers.js';
import { caregiversOf, consentsOf } from '../../../store/caregivers.js';
import { screeningsOf } from '../../../store/screenings.js';
import {
  caregiverSchema,
  consentSchema,
  linkCaregiver,
  noteConsent,
  unlinkCaregiver,
} from '../../acts/care.js';
import { readPatient } from '../../acts/records.js';
import { takeScreening } from '../../acts/screening.js';
import { type Endpoint, endpoint } from '../endpoint.js';
import * as results from '../results.js';

export const careEndpoints: readonly Endpoint[] = [
  endpoint({
    method: 'get',
    path: '/screening-questions',
    summary: 'What a person is asked before a program.',
    result: z.array(results.question),
    handle: async ({ service }) =>
      service.workshop.interview.precautions.map((each) => ({ ...each, help: each.help ?? null })),
  }),
  endpoint({
    method: 'get',
    path: '/people/{id}/screenings',
    summary: 'A person’s interviews, the newest first.',
    result: z.array(results.screening),
    async handle({ service, actor, params }) {
      const { id } = await readPatient(service, actor, params.id ?? '');
      const taken = await service.store.read((db) => screeningsOf(db, id));
      return taken.map((each) => ({
        ...each,
        answers: screeningAnswersSchema.parse(JSON.parse(each.answers)),
      }));
    },
  }),
  endpoint({
    method: 'post',
    path: '/people/{id}/screenings',
    summary: 'Takes an interview down; every question needs an answer.',
    body: z.strictObject({ answers: screeningAnswersSchema }),
    result: results.made,
    status: 201,
    async handle({ service, actor, params, body }) {
      return { id: await takeScreening(service, actor, { patientId: params.id ?? '', ...body }) };
    },
  }),
  endpoint({
    method: 'get',
    path: '/people/{id}/caregivers',
    summary: 'A person’s caregivers.',
    result: z.array(results.caregiver),
    async handle({ service, actor, params }) {
      const { id } = await readPatient(service, actor, params.id ?? '');
      return service.store.read((db) => caregiversOf(db, id));
    },
  }),
  endpoint({
    method: 'post',
    path: '/people/{id}/caregivers',
    summary: 'Links a caregiver, who sees and receives nothing until the person agrees.',
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
    summary: 'Ends what a caregiver may see and receive.',
    async handle({ service, actor, params }) {
      await unlinkCaregiver(service, actor, params.id ?? '', params.caregiverId ?? '');
    },
  }),
  endpoint({
    method: 'get',
    path: '/people/{id}/consents',
    summary: 'What a person last said to each thing that needs their consent.',
    result: z.array(results.consent),
    async handle({ service, actor, params }) {
      const { id } = await readPatient(service, actor, params.id ?? '');
      return service.store.read((db) => consentsOf(db, id));
    },
  }),
  endpoint({
    method: 'post',
    path: '/people/{id}/consents',
    summary: 'Writes down that a person agreed to something, or took it back.',
    body: consentSchema,
    async handle({ service, actor, params, body }) {
      await noteConsent(service, actor, params.id ?? '', body);
    },
  }),
];
