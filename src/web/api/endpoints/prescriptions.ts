import { z } from 'zod';
import { inputError } from '../../../errors/stillcountError.js';
import { prescriptionContentSchema, readPrescription } from '../../../prescription/content.js';
import { programSchema } from '../../../program/schema.js';
import { isSettled } from '../../../screening/settlements.js';
import { dosesHeard } from '../../../script/doseHeard.js';
import { previewScript } from '../../../session/makeSession.js';
import { prescriptionsOf, stateChangesOf, versionsOf } from '../../../store/prescriptions.js';
import { prescriptionStates } from '../../../store/schema.js';
import { type Actor, dayOf } from '../../acts/actor.js';
import { moveTo } from '../../acts/programs.js';
import { patientAtWork, prescriptionAtWork, readPatient, readPrescriptionOf } from '../../acts/records.js';
import { screeningOf } from '../../acts/screening.js';
import { sign } from '../../acts/signing.js';
import type { Work } from '../../acts/work.js';
import { line, text } from '../../forms/values.js';
import { programFindings } from '../../prescribing/findings.js';
import { conflict, notFound } from '../../refusals.js';
import type { Service } from '../../service.js';
import { type Endpoint, endpoint, soundEndpoint } from '../endpoint.js';
import * as results from '../results.js';

/** A version's content as it is handed in; which interview it is signed on is put in by the signing. */
const contentSchema = prescriptionContentSchema
  .omit({ screeningId: true })
  .extend({ program: programSchema });

async function signOrThrow(service: Service, actor: Actor, work: Work, reason: string) {
  const outcome = await sign(service, actor, work, reason);
  if (outcome.kind === 'signed') return outcome;
  if (outcome.kind === 'problems') throw inputError(outcome.problems);
  throw conflict(`Version ${outcome.conflict.number} was signed meanwhile by ${outcome.conflict.by}`);
}

export const prescriptionEndpoints: readonly Endpoint[] = [
  endpoint({
    method: 'get',
    path: '/people/{id}/prescriptions',
    summary: 'A person’s programs, the newest first.',
    result: z.array(results.listedPrescription),
    async handle({ service, actor, params }) {
      const { id } = await readPatient(service, actor, params.id ?? '');
      return service.store.read((db) => prescriptionsOf(db, actor.clinician.clinicId, id));
    },
  }),
  endpoint({
    method: 'post',
    path: '/people/{id}/prescriptions',
    summary: 'Signs the first version of a program, in the name of the key’s clinician.',
    body: z.strictObject({ content: contentSchema, reason: line(500) }),
    result: results.signed,
    status: 201,
    async handle({ service, actor, params, body }) {
      const patient = await patientAtWork(service, actor, params.id ?? '');
      const work = { patient, prescriptionId: null, basedOn: 0, content: body.content };
      return signOrThrow(service, actor, work, body.reason);
    },
  }),
  endpoint({
    method: 'post',
    path: '/people/{id}/preview',
    summary: 'The session of unsigned work: its length, and what the person’s precautions ask of it.',
    body: contentSchema,
    result: results.preview,
    async handle({ service, actor, params, body }) {
      const { workshop } = service;
      const patient = await patientAtWork(service, actor, params.id ?? '');
      const read = readPrescription(body, 'content', workshop.catalogues);
      const { script, estimatedWordings } = await previewScript(read.program, workshop);
      const screening = await service.store.read((db) => screeningOf(db, patient.id));
      const today = dayOf(actor);
      return {
        durationMs: script.durationMs,
        underTensionSeconds: dosesHeard(script).reduce((sum, dose) => sum + dose.underTensionSeconds, 0),
        estimatedWordings,
        adjustments: script.adjustments.map((adjustment) => adjustment.text),
        findings: programFindings(body, screening?.answers ?? {}, workshop).map((finding) => ({
          rule: finding.rule.id,
          precaution: finding.precaution.name,
          measure: finding.rule.measure,
          exercises: [...finding.exercises],
          why: finding.rule.why,
          how: finding.rule.how,
          clearedBy: finding.rule.clearedBy ?? null,
          source: finding.rule.source.text,
          isSettled: isSettled(finding, read.settlements, today),
        })),
      };
    },
  }),
  soundEndpoint({
    path: '/people/{id}/session',
    summary: 'The session of unsigned work to listen to, as MP3; new sentences take the voice a while.',
    body: contentSchema,
    async handle({ service, actor, params, body }) {
      await patientAtWork(service, actor, params.id ?? '');
      const { program } = readPrescription(body, 'content', service.workshop.catalogues);
      const { clinicId } = actor.clinician;
      const audio = await service.hearing.audioOf(clinicId, await service.hearing.make(clinicId, program));
      if (audio === undefined) throw notFound('This session has been forgotten; ask again');
      return audio.read(0, audio.byteLength);
    },
  }),
  endpoint({
    method: 'get',
    path: '/prescriptions/{id}',
    summary: 'A program with all its versions, pauses and ends.',
    result: results.prescription,
    async handle({ service, actor, params }) {
      const { prescription, patient } = await readPrescriptionOf(service, actor, params.id ?? '');
      const versions = await service.store.read((db) => versionsOf(db, prescription.id));
      const stateChanges = await service.store.read((db) => stateChangesOf(db, prescription.id));
      return {
        ...prescription,
        personId: patient.id,
        versions: versions.map((version) => ({ ...version, content: JSON.parse(version.content) })),
        stateChanges,
      };
    },
  }),
  endpoint({
    method: 'post',
    path: '/prescriptions/{id}/versions',
    summary: 'Signs the next version, in the name of the key’s clinician.',
    body: z.strictObject({
      content: contentSchema,
      reason: line(500),
      basedOn: z.int().min(1).describe('The version that this one changes; a newer one is a conflict.'),
    }),
    result: results.signed,
    status: 201,
    async handle({ service, actor, params, body }) {
      const { prescription, patient } = await prescriptionAtWork(service, actor, params.id ?? '');
      const { content, basedOn } = body;
      const work = { patient, prescriptionId: prescription.id, basedOn, content };
      return signOrThrow(service, actor, work, body.reason);
    },
  }),
  endpoint({
    method: 'post',
    path: '/prescriptions/{id}/state',
    summary: 'Pauses, resumes or ends a program.',
    body: z.strictObject({ state: z.enum(prescriptionStates), reason: text(500).min(1) }),
    async handle({ service, actor, params, body }) {
      await moveTo(service, actor, await prescriptionAtWork(service, actor, params.id ?? ''), body);
    },
  }),
];
