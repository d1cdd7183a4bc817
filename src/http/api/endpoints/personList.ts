import { z } from 'zod';
import { readPatient } from '../../../clinic/people/chart.js';
import type { Db } from '../../../store/engine/openStore.js';
import type { Patient } from '../../../store/people/chart.js';
import { type Endpoint, endpoint } from '../endpoint/endpoint.js';

/** An endpoint that lists what belongs to a patient; viewing the record is logged first. */
export function personList<Item extends z.ZodType>(
  path: `/people/{id}/${string}`,
  summary: string,
  item: Item,
  list: (db: Db, patient: Patient, clinicId: string) => Promise<z.input<Item>[]>,
): Endpoint {
  return endpoint({
    method: 'get',
    path,
    summary,
    result: z.array(item),
    async handle({ service, actor, params }) {
      const patient = await readPatient(service, actor, params.id ?? '');
      return service.store.read((db) => list(db, patient, actor.clinician.clinicId));
    },
  });
}
