import { z } from 'zod';
import { type Actor, requireMayWrite } from '../../../clinic/actor.js';
import { findHoldReasons } from '../../../clinic/listening/notPlayable.js';
import {
  openChart,
  readPatient,
  readPatientDuringWork,
  readPrescriptionDuringWork,
  readPrescriptionOf,
} from '../../../clinic/people/chart.js';
import type { Subject } from '../../../clinic/prescribing/drafts.js';
import { changeProgramState } from '../../../clinic/prescribing/prescriptions.js';
import { validateProgram } from '../../../clinic/prescribing/signing.js';
import { Refused, refused } from '../../../clinic/refusals.js';
import { screeningOf } from '../../../clinic/screening/screening.js';
import { text } from '../../../clinic/values.js';
import { prescriptionContentSchema, readPrescription } from '../../../prescription/content.js';
import { type Content, programFindings } from '../../../prescription/programFindings.js';
import { programSchema } from '../../../program/schema.js';
import { openQuestions } from '../../../screening/takenScreening.js';
import { secondsUnderTension } from '../../../script/doseHeard.js';
import { previewScript } from '../../../session/makeSession.js';
import { auditActor } from '../../../store/accounts/audit.js';
import { prescriptionsOf } from '../../../store/people/chart.js';
import { draftAt, draftPlace, writeDraft } from '../../../store/prescribing/prescriptions.js';
import type { HttpResources } from '../../server/resources.js';
import { type Endpoint, endpoint, soundEndpoint } from '../endpoint/endpoint.js';
import * as results from '../endpoint/results.js';
import { personList } from './personList.js';

/** A version's content as submitted. Only a clinician, on the page, can mark a precaution as resolved. */
const contentSchema = prescriptionContentSchema
  .omit({ settlements: true })
  .extend({ program: programSchema });

/** A draft submitted by another program waits for the clinician: only she signs, on its page. */
async function handIn(
  service: Pick<HttpResources, 'store' | 'workshop'>,
  actor: Actor,
  subject: Subject,
  work: { basedOn: number; content: Content },
) {
  requireMayWrite(actor);
  const read = await validateProgram(work.content, service);
  if ('refusals' in read) throw new Refused(read.refusals);
  const place = draftPlace(actor.clinician.id, subject);
  await service.store.write(async (db) => {
    if ((await draftAt(db, place)) !== null) throw refused('draft-exists');
    const content = JSON.stringify(work.content);
    await writeDraft(db, place, { content, basedOnNumber: work.basedOn, updatedAtMs: actor.nowMs });
    const { patient, prescriptionId } = subject;
    const what = { patientId: patient.id, subject: prescriptionId ?? patient.id };
    await auditActor(db, actor, { ...what, action: 'draft-handed-in' });
  });
  const { patient, prescriptionId } = subject;
  return {
    signAt:
      prescriptionId === null
        ? `/patients/${patient.id}/prescribe`
        : `/prescriptions/${prescriptionId}/change`,
  };
}

export const prescriptionEndpoints: readonly Endpoint[] = [
  personList(
    '/people/{id}/prescriptions',
    'A patient’s programs, newest first.',
    results.listedPrescription,
    (db, { id }, clinicId) => prescriptionsOf(db, clinicId, id),
  ),
  endpoint({
    method: 'post',
    path: '/people/{id}/draft',
    summary: 'Submits a new program for the key’s clinician to review and sign.',
    body: contentSchema,
    result: results.handedIn,
    status: 201,
    async handle({ service, actor, params, body }) {
      const patient = await readPatientDuringWork(service, actor, params.id ?? '');
      return handIn(service, actor, { patient, prescriptionId: null }, { basedOn: 0, content: body });
    },
  }),
  endpoint({
    method: 'post',
    path: '/people/{id}/preview',
    summary: 'Previews the session of a draft: its length, and what the patient’s precautions require.',
    body: contentSchema,
    result: results.preview,
    async handle({ service, actor, params, body }) {
      const { workshop } = service;
      const patient = await readPatient(service, actor, params.id ?? '');
      const read = readPrescription(body, 'content', workshop.catalogues);
      const { script, estimatedWordings } = await previewScript(read.program, workshop);
      const screening = await service.store.read((db) => screeningOf(db, patient.id));
      return {
        durationMs: script.durationMs,
        underTensionSeconds: secondsUnderTension(script),
        estimatedWordings,
        adjustments: script.adjustments.map((adjustment) => adjustment.text),
        openQuestions:
          screening === null
            ? workshop.interview.precautions.map(({ name }) => name)
            : openQuestions(screening, workshop, actor.nowMs),
        findings: programFindings(body, screening?.answers ?? {}, workshop).map((finding) => ({
          rule: finding.rule.id,
          precaution: finding.precaution.name,
          measure: finding.rule.measure,
          exercises: [...finding.exercises],
          why: finding.rule.why,
          how: finding.rule.how,
          clearedBy: finding.rule.clearedBy ?? null,
          source: finding.rule.source.text,
        })),
      };
    },
  }),
  soundEndpoint({
    path: '/people/{id}/session',
    summary: 'The session of a draft as MP3; speaking new sentences takes a while.',
    body: contentSchema,
    async handle({ service, actor, params, body }) {
      requireMayWrite(actor);
      await readPatient(service, actor, params.id ?? '');
      const { program } = readPrescription(body, 'content', service.workshop.catalogues);
      const { clinicId } = actor.clinician;
      const audio = await service.hearing.audioOf(clinicId, await service.hearing.make(clinicId, program));
      if (audio === undefined) throw refused('session-forgotten');
      return audio.read(0, audio.byteLength);
    },
  }),
  endpoint({
    method: 'get',
    path: '/prescriptions/{id}',
    summary: 'A program with all its versions and status changes.',
    result: results.prescription,
    async handle({ service, actor, params }) {
      const { prescription, patient } = await readPrescriptionOf(service, actor, params.id ?? '');
      const chart = openChart(service.store, actor.clinician.clinicId, patient);
      const versions = await chart.versions(prescription.id);
      const stateChanges = [...(await chart.stateChanges(prescription.id))];
      return {
        ...prescription,
        personId: patient.id,
        problems: (await findHoldReasons(service, chart, prescription.id)).map(
          ({ file: _file, line: _line, ...problem }) => problem,
        ),
        versions: versions.map(({ content, damage, ...version }) => ({
          ...version,
          content: content === null ? null : JSON.parse(content),
          isDamaged: damage !== null,
        })),
        stateChanges,
      };
    },
  }),
  endpoint({
    method: 'post',
    path: '/prescriptions/{id}/draft',
    summary: 'Submits the next version for the key’s clinician to review and sign.',
    body: z.strictObject({
      content: contentSchema,
      basedOn: z
        .int()
        .min(1)
        .max(2 ** 31 - 1)
        .describe('The number of the version that this one changes.'),
    }),
    result: results.handedIn,
    status: 201,
    async handle({ service, actor, params, body }) {
      const { prescription, patient } = await readPrescriptionDuringWork(service, actor, params.id ?? '');
      if (prescription.state === 'ended') throw refused('program-ended');
      return handIn(service, actor, { patient, prescriptionId: prescription.id }, body);
    },
  }),
  endpoint({
    method: 'post',
    path: '/prescriptions/{id}/state',
    summary: 'Pauses or ends a program; only a clinician can resume one, on its page.',
    body: z.strictObject({ state: z.enum(['paused', 'ended']), reason: text(500).min(1) }),
    async handle({ service, actor, params, body }) {
      await changeProgramState(
        service,
        actor,
        await readPrescriptionDuringWork(service, actor, params.id ?? ''),
        body,
      );
    },
  }),
];
