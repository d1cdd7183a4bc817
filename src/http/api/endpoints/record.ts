import { exportFhir, exportRecord } from '../../../clinic/records/record.js';
import { type Endpoint, endpoint, fileEndpoint } from '../endpoint/endpoint.js';
import * as results from '../endpoint/results.js';

export const recordEndpoints: readonly Endpoint[] = [
  endpoint({
    method: 'get',
    path: '/people/{id}/fhir',
    summary: 'A patient’s record as a FHIR R4 bundle, as far as FHIR can represent it.',
    result: results.fhirBundle,
    async handle({ service, actor, params }) {
      const { resourceType, type, timestamp, entry } = await exportFhir(service, actor, params.id ?? '');
      // Any FHIR resource is an object with a type.
      return results.fhirBundle.parse({ resourceType, type, timestamp, entry });
    },
  }),
  fileEndpoint({
    path: '/people/{id}/record',
    summary: 'The full record of a patient: FHIR, tables and notes.',
    produces: 'application/zip',
    handle: ({ service, actor, params }) =>
      exportRecord(service, actor, {
        patientId: params.id ?? '',
        readme: (of) => service.pages.part('record-readme', of),
      }),
  }),
];
