import { requireMayWrite, requireOwner } from '../../../clinic/actor.js';
import { readPatient } from '../../../clinic/people/openRecord.js';
import { recordContext } from '../../../clinic/records/readRecord.js';
import {
  eraseRecord,
  erasingSchema,
  exportFhir,
  exportRecord,
  exportTable,
} from '../../../clinic/records/record.js';
import { fileNameOf, recordTables } from '../../../clinic/records/recordFiles.js';
import { attempt } from '../../../clinic/refusals.js';
import { problemsOf } from '../../../clinic/values.js';
import type { Problem } from '../../../errors/stillcountError.js';
import { erasuresOf } from '../../../store/records/erasure.js';
import { countedTables, countRecordRows } from '../../../store/records/record.js';
import { timeInWords } from '../../../text/dates.js';
import { field } from '../../forms/fields.js';
import { withSentences } from '../../server/problems.js';
import type { HttpResources } from '../../server/resources.js';
import { type AuthenticatedRequest, type PageReply, Routes } from '../../server/routing.js';

/** A patient's full record: viewed, exported and erased. */
export function recordRoutes(
  service: Pick<
    HttpResources,
    | 'store'
    | 'workshop'
    | 'pages'
    | 'words'
    | 'assets'
    | 'hearing'
    | 'shelf'
    | 'lengths'
    | 'versions'
    | 'incidents'
    | 'now'
    | 'https'
  >,
): Routes {
  const { store, words } = service;

  async function erasePage(
    visit: AuthenticatedRequest,
    typed: { name: string; why: string },
    problems?: readonly Problem[],
  ): Promise<PageReply> {
    const patient = await readPatient(service, visit, visit.params.id ?? '');
    const reasons = Object.entries(words.record.reasons).map(([value, said]) => ({
      value,
      words: said,
      selected: value === typed.why,
    }));
    return {
      kind: 'page',
      page: 'record-erase',
      status: problems === undefined ? 200 : 400,
      view: {
        patient,
        reasons,
        typedName: typed.name,
        hasProblems: problems !== undefined,
        problems: problems?.map(({ path = '', ...problem }) => ({
          ...problem,
          path: words.record.fields[path] ?? path,
        })),
      },
    };
  }

  const named = ({ nowMs, clinician }: AuthenticatedRequest, ending: string) =>
    fileNameOf({ nowMs, zone: clinician.clinicZone }, ending);

  return new Routes(service)
    .authenticatedRoute('get', '/patients/:id/record', async (visit) => {
      const patient = await readPatient(service, visit, visit.params.id ?? '');
      const { clinicId, role } = visit.clinician;
      const counts = await store.read((db) => countRecordRows(db, patient.id));
      const context = await recordContext(service, { clinicId, patient, nowMs: visit.nowMs });
      return {
        kind: 'page',
        page: 'record',
        view: {
          patient,
          kept: countedTables.map((table) => ({ words: words.record.kinds[table], count: counts[table] })),
          tables: recordTables(context).map(({ name }) => ({ name })),
          isOwner: role === 'owner' && visit.mayWrite,
        },
      };
    })
    .authenticatedRoute('get', '/patients/:id/record/all.zip', async (visit) => ({
      kind: 'file',
      type: 'application/zip',
      name: named(visit, 'zip'),
      bytes: await exportRecord(service, visit, {
        patientId: visit.params.id ?? '',
        readme: (of) => service.pages.part('record-readme', of),
      }),
    }))
    .authenticatedRoute('get', '/patients/:id/record/bundle.json', async (visit) => ({
      kind: 'file',
      // The media type of FHIR R4, section 2.6.
      type: 'application/fhir+json',
      name: named(visit, 'json'),
      bytes: Buffer.from(JSON.stringify(await exportFhir(service, visit, visit.params.id ?? ''), null, 2)),
    }))
    .authenticatedRoute('get', '/patients/:id/record/csv/:table', async (visit) => ({
      kind: 'file',
      type: 'text/csv',
      name: `${visit.params.table ?? ''}.csv`,
      bytes: await exportTable(service, visit, visit.params.id ?? '', visit.params.table ?? ''),
    }))
    .authenticatedRoute('get', '/patients/:id/record/erase', async (visit) => {
      requireMayWrite(visit);
      requireOwner(visit);
      return erasePage(visit, { name: '', why: '' });
    })
    .authenticatedRoute('post', '/patients/:id/record/erase', async (visit) => {
      requireMayWrite(visit);
      requireOwner(visit);
      const typed = { name: field(visit.fields, 'name'), why: field(visit.fields, 'why') };
      const read = erasingSchema.safeParse(typed);
      if (!read.success) return erasePage(visit, typed, problemsOf(read.error));
      const result = await attempt(() => eraseRecord(service, visit, visit.params.id ?? '', read.data));
      if (result.kind === 'refused')
        return erasePage(visit, typed, withSentences(result.refusals, service.words));
      return { kind: 'redirect', to: result.value ? '/erasures' : '/erasures?files=left' };
    })
    .authenticatedRoute('get', '/erasures', async (visit) => {
      requireOwner(visit);
      const { clinicId, clinicZone } = visit.clinician;
      const erasures = await store.read((db) => erasuresOf(db, clinicId));
      return {
        kind: 'page',
        page: 'erasures',
        view: {
          isFilesLeft: field(visit.query, 'files') === 'left',
          hasErasures: erasures.length > 0,
          erasures: erasures.map(({ patientId, atMs, clinicianName, why }) => ({
            patientId,
            when: timeInWords(atMs, clinicZone),
            by: clinicianName,
            why: words.record.reasons[why],
          })),
        },
      };
    });
}
