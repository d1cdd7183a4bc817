import { z } from 'zod';
import { requireOwner } from '../../../clinic/actor.js';
import { readPrescriptionDuringWork } from '../../../clinic/people/chart.js';
import { removeClinicProgram, saveAsClinicProgram } from '../../../clinic/prescribing/prescriptions.js';
import { listStarters, starterContent } from '../../../clinic/prescribing/starters.js';
import { requiredText } from '../../../clinic/values.js';
import { clinicCatalogue } from '../../../prescription/programFindings.js';
import { auditTrail } from '../../../store/accounts/audit.js';
import { colleaguesOf } from '../../../store/accounts/colleagues.js';
import { type Endpoint, endpoint } from '../endpoint/endpoint.js';
import * as results from '../endpoint/results.js';

export const clinicEndpoints: readonly Endpoint[] = [
  endpoint({
    method: 'get',
    path: '/exercises',
    summary: 'The exercise catalogue: dose, limits, loads and cautions of every exercise.',
    result: z.array(results.exercise),
    handle: async ({ service }) =>
      [...clinicCatalogue(service.workshop).exercises.values()].map((exercise) => ({
        ...exercise,
        position: exercise.position.body,
        dose: { ...exercise.dose },
        limits: { ...exercise.limits },
      })),
  }),
  endpoint({
    method: 'get',
    path: '/starters',
    summary: 'Programs to start a prescription from: clinic programs first, then starter programs.',
    result: z.array(results.starter),
    handle: ({ service, actor }) => listStarters(service, actor.clinician.clinicId),
  }),
  endpoint({
    method: 'get',
    path: '/starters/{id}',
    summary: 'The content of a prescription started from this program.',
    result: z.record(z.string(), z.unknown()),
    handle: ({ service, actor, params }) =>
      starterContent(service, { id: params.id ?? '', clinicId: actor.clinician.clinicId }, undefined),
  }),
  endpoint({
    method: 'post',
    path: '/prescriptions/{id}/keep',
    summary: 'Saves a program as a clinic program, without any patient data.',
    body: z.strictObject({ title: requiredText(120) }),
    result: results.made,
    status: 201,
    async handle({ service, actor, params, body }) {
      const own = await readPrescriptionDuringWork(service, actor, params.id ?? '');
      return { id: await saveAsClinicProgram(service, actor, own, body.title) };
    },
  }),
  endpoint({
    method: 'delete',
    path: '/starters/{id}',
    summary: 'Removes a clinic program from the list.',
    handle: ({ service, actor, params }) => removeClinicProgram(service, actor, params.id ?? ''),
  }),
  endpoint({
    method: 'get',
    path: '/colleagues',
    summary: 'Everyone with a current or closed account; owners only.',
    result: z.array(results.colleague),
    async handle({ service, actor }) {
      requireOwner(actor);
      return service.store.read((db) => colleaguesOf(db, actor.clinician.clinicId));
    },
  }),
  endpoint({
    method: 'get',
    path: '/trail',
    summary: 'The activity log: who viewed and changed what, newest first, 100 at a time.',
    query: z.strictObject({
      personId: z.uuid().optional(),
      before: z.coerce.number().int().min(1).optional(),
    }),
    result: results.trail,
    async handle({ service, actor, query }) {
      const { personId, before } = query;
      const filter = {
        ...(personId === undefined ? {} : { patientId: personId }),
        ...(before === undefined ? {} : { before }),
      };
      const page = await service.store.read((db) => auditTrail(db, actor.clinician.clinicId, filter));
      return {
        entries: page.entries.map((entry) => ({ ...entry, personId: entry.patientId })),
        next: page.hasMore ? (page.entries.at(-1)?.sequence ?? null) : null,
      };
    },
  }),
];
