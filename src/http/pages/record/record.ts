import { requireMayWrite, requireOwner } from '../../../clinic/actor.js';
import type { PlaybackResources } from '../../../clinic/listening/notPlayable.js';
import { readPatient } from '../../../clinic/people/chart.js';
import { recordContext } from '../../../clinic/records/readRecord.js';
import {
  eraseRecord,
  erasingSchema,
  exportFhir,
  exportRecord,
  exportTable,
} from '../../../clinic/records/record.js';
import { fileNameOf, recordTables } from '../../../clinic/records/recordFiles.js';
import { problemsOf } from '../../../clinic/values.js';
import type { Problem } from '../../../errors/stillcountError.js';
import { erasuresOf } from '../../../store/records/erasure.js';
import { countedTables, countRecordRows } from '../../../store/records/record.js';
import { timeInWords } from '../../../text/dates.js';
import { field } from '../../forms/fields.js';
import { attempt, withSentences } from '../../server/problems.js';
import type { HttpResources } from '../../server/resources.js';
import type { PageResources } from '../../server/routing.js';
import { type AuthenticatedRequest, type PageReply, Routes } from '../../server/routing.js';

/** A patient's full record: viewed, exported and erased. */
export function recordRoutes(
  service: PageResources & PlaybackResources & Pick<HttpResources, 'hearing' | 'shelf' | 'incidents'>,
): Routes {
  const { store, words } = service;

  async function erasePage(
    request: AuthenticatedRequest,
    typed: { name: string; why: string },
    problems?: readonly Problem[],
  ): Promise<PageReply> {
    const patient = await readPatient(service, request, request.params.id ?? '');
    const reasons = Object.entries(words.record.reasons).map(([value, label]) => ({
      value,
      words: label,
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
    .authenticatedRoute('get', '/patients/:id/record', async (request) => {
      const patient = await readPatient(service, request, request.params.id ?? '');
      const { clinicId, role } = request.clinician;
      const counts = await store.read((db) => countRecordRows(db, patient.id));
      const context = await recordContext(service, { clinicId, patient, nowMs: request.nowMs });
      return {
        kind: 'page',
        page: 'record',
        view: {
          patient,
          kept: countedTables.map((table) => ({ words: words.record.kinds[table], count: counts[table] })),
          tables: recordTables(context).map(({ name }) => ({ name })),
          isOwner: role === 'owner' && request.mayWrite,
        },
      };
    })
    .authenticatedRoute('get', '/patients/:id/record/all.zip', async (request) => ({
      kind: 'file',
      type: 'application/zip',
      name: named(request, 'zip'),
      bytes: await exportRecord(service, request, {
        patientId: request.params.id ?? '',
        readme: (of) => service.pages.part('record-readme', of),
      }),
    }))
    .authenticatedRoute('get', '/patients/:id/record/bundle.json', async (request) => ({
      kind: 'file',
      // The media type of FHIR R4, section 2.6.
      type: 'application/fhir+json',
      name: named(request, 'json'),
      bytes: Buffer.from(
        JSON.stringify(await exportFhir(service, request, request.params.id ?? ''), null, 2),
      ),
    }))
    .authenticatedRoute('get', '/patients/:id/record/csv/:table', async (request) => ({
      kind: 'file',
      type: 'text/csv',
      name: `${request.params.table ?? ''}.csv`,
      bytes: await exportTable(service, request, request.params.id ?? '', request.params.table ?? ''),
    }))
    .authenticatedRoute('get', '/patients/:id/record/erase', async (request) => {
      requireMayWrite(request);
      requireOwner(request);
      return erasePage(request, { name: '', why: '' });
    })
    .authenticatedRoute('post', '/patients/:id/record/erase', async (request) => {
      requireMayWrite(request);
      requireOwner(request);
      const typed = { name: field(request.fields, 'name'), why: field(request.fields, 'why') };
      const read = erasingSchema.safeParse(typed);
      if (!read.success) return erasePage(request, typed, problemsOf(read.error));
      const result = await attempt(() => eraseRecord(service, request, request.params.id ?? '', read.data));
      if (result.kind === 'refused')
        return erasePage(request, typed, withSentences(result.refusals, service.words));
      return { kind: 'redirect', to: result.value ? '/erasures' : '/erasures?files=left' };
    })
    .authenticatedRoute('get', '/erasures', async (request) => {
      requireOwner(request);
      const { clinicId, clinicZone } = request.clinician;
      const erasures = await store.read((db) => erasuresOf(db, clinicId));
      return {
        kind: 'page',
        page: 'erasures',
        view: {
          isFilesLeft: field(request.query, 'files') === 'left',
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
