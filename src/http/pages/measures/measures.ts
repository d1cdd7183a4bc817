import { randomUUID } from 'node:crypto';
import { clinicDayOf } from '../../../clinic/actor.js';
import { type Measured, readPatientMeasures } from '../../../clinic/followup/measured.js';
import {
  type Entered,
  measureEntrySchema,
  saveMeasureEntry,
  withdrawValue,
} from '../../../clinic/followup/measures.js';
import { addActivity, addClinicMeasure, endClinicMeasure } from '../../../clinic/followup/ownMeasures.js';
import {
  type OpenMeasureQuestion,
  saveVisitMeasures,
  visitMeasuresSchema,
} from '../../../clinic/followup/visitMeasures.js';
import { readPatient, readPatientDuringWork } from '../../../clinic/people/chart.js';
import { parseForm } from '../../../clinic/values.js';
import type { Problem } from '../../../errors/stillcountError.js';
import type { Patient } from '../../../store/people/chart.js';
import { field } from '../../forms/fields.js';
import { attempt, withSentences } from '../../server/problems.js';
import type { HttpResources } from '../../server/resources.js';
import type { PageResources } from '../../server/routing.js';
import { type AuthenticatedRequest, type PageReply, Routes } from '../../server/routing.js';
import { type EntryForm, entryView, questionView } from './entryView.js';
import { measuresView } from './measuresView.js';
import { type VisitForm, visitView } from './visitView.js';

/** The form that was refused, so that nothing of it is lost. */
type Form = 'entry' | 'visit' | 'activity' | 'own' | 'other';
type Unfinished = {
  form: Form;
  problems?: readonly Problem[];
  question?: Exclude<Entered, { kind: 'kept' }>;
  asked?: readonly OpenMeasureQuestion[];
};

/** A patient's measures: entry, tables and charts, patient-chosen activities, clinic measures. */
export function measureRoutes(service: PageResources & Pick<HttpResources, 'workshop'>): Routes {
  const { store, words } = service;

  async function page(
    request: AuthenticatedRequest,
    patient: Patient,
    unfinished: Unfinished | null,
  ): Promise<PageReply> {
    const { clinicId } = request.clinician;
    const measured = await store.read((db) => readPatientMeasures(db, service, { clinicId, patient }));
    const problems = unfinished?.problems;
    const entry = entryOf(request, unfinished?.form === 'entry');
    return {
      kind: 'page',
      page: 'measures',
      status: problems === undefined ? 200 : 400,
      view: {
        patient,
        mayWrite: request.mayWrite,
        today: clinicDayOf(request),
        hasProblems: problems !== undefined,
        problems: problems === undefined ? [] : worded(problems, measured),
        question:
          unfinished?.question === undefined ? null : questionView(service, unfinished.question, entry),
        ...visitView(service, measured, {
          form: visitOf(request, unfinished?.form === 'visit'),
          asked: unfinished?.asked ?? [],
          faulty: new Set(problems?.flatMap(({ path }) => path ?? [])),
        }),
        ...entryView(service, measured, entry),
        ...ownView(request, unfinished?.form ?? 'other'),
        ...measuresView(service, measured, patient),
      },
    };
  }

  /** The names of fields on the page; a value of a visit is named after its measure. */
  function worded(problems: readonly Problem[], measured: readonly Measured[]): object[] {
    const fields: Readonly<Record<string, string | undefined>> = words.measuring.fields;
    const nameOf = (path: string) =>
      fields[path.replace(/^\[?\d+\]?\./, '')] ??
      measured.find(({ measure }) => measure.id === path)?.measure.name ??
      path;
    return problems.map(({ path, ...rest }) => ({ ...rest, path: path === undefined ? path : nameOf(path) }));
  }

  function ownView(request: AuthenticatedRequest, form: Form): object {
    const typed = (of: Form, name: string) => (form === of ? field(request.fields, name) : '');
    return {
      newActivity: { name: typed('activity', 'name') },
      addsOwn: form === 'own',
      newOwn: Object.fromEntries(['name', 'unit', 'least', 'most'].map((name) => [name, typed('own', name)])),
      betterChoices: Object.entries(words.measuring.better).map(([better, text]) => ({
        better,
        words: text,
        isSelected: better === typed('own', 'better'),
      })),
    };
  }

  /** Carries out the form's action and shows the page again, with the input if it is refused or has to be confirmed. */
  async function kept(
    request: AuthenticatedRequest,
    { form, place }: { form: Form; place: string },
    act: (patientId: string) => Promise<Entered | undefined>,
  ): Promise<PageReply> {
    const patientId = request.params.id ?? '';
    const result = await attempt(() => act(patientId));
    if (result.kind === 'refused') {
      const problems = withSentences(result.refusals, words);
      return page(request, await readPatientDuringWork(service, request, patientId), { form, problems });
    }
    const { value: entered } = result;
    if (entered !== undefined && entered.kind !== 'kept') {
      return page(request, await readPatientDuringWork(service, request, patientId), {
        form,
        question: entered,
      });
    }
    return { kind: 'redirect', to: `/patients/${patientId}/measures#${place}` };
  }

  return new Routes(service)
    .authenticatedRoute('get', '/patients/:id/measures', async (request) =>
      page(request, await readPatient(service, request, request.params.id ?? ''), null),
    )
    .authenticatedRoute('post', '/patients/:id/measures', (request) =>
      kept(request, { form: 'entry', place: `m-${field(request.fields, 'measureId')}` }, (patientId) => {
        const names = ['entryId', 'measureId', 'value', 'takenOn', 'note', 'confirmed'];
        const typed = Object.fromEntries(names.map((name) => [name, field(request.fields, name)]));
        return saveMeasureEntry(service, request, patientId, parseForm(measureEntrySchema, typed));
      }),
    )
    .authenticatedRoute('post', '/patients/:id/measures/visit', async (request) => {
      const patientId = request.params.id ?? '';
      const result = await attempt(async () => {
        const entries = parseForm(visitMeasuresSchema, entriesOf(request));
        return saveVisitMeasures(service, request, patientId, entries);
      });
      if (result.kind === 'refused') {
        const problems = withSentences(result.refusals, words);
        return page(request, await readPatientDuringWork(service, request, patientId), {
          form: 'visit',
          problems,
        });
      }
      if (result.value.length > 0) {
        const asked = result.value;
        return page(request, await readPatientDuringWork(service, request, patientId), {
          form: 'visit',
          asked,
        });
      }
      return { kind: 'redirect', to: `/patients/${patientId}/measures#visit` };
    })
    .authenticatedRoute('post', '/patients/:id/measures/activities', (request) =>
      kept(request, { form: 'activity', place: 'activities' }, async (patientId) => {
        await addActivity(service, request, patientId, { name: field(request.fields, 'name') });
        return undefined;
      }),
    )
    .authenticatedRoute('post', '/patients/:id/measures/own', (request) =>
      kept(request, { form: 'own', place: 'own' }, async (patientId) => {
        const text = (name: string) => field(request.fields, name);
        const own = { name: text('name'), unit: text('unit'), least: text('least'), most: text('most') };
        await addClinicMeasure(service, request, patientId, { ...own, better: text('better') });
        return undefined;
      }),
    )
    .authenticatedRoute('post', '/patients/:id/measures/own/:ownId/end', (request) =>
      kept(request, { form: 'other', place: 'own' }, async (patientId) => {
        await endClinicMeasure(service, request, patientId, request.params.ownId ?? '');
        return undefined;
      }),
    )
    .authenticatedRoute('post', '/patients/:id/measures/:takenId/withdraw', (request) =>
      kept(request, { form: 'other', place: 'enter' }, async (patientId) => {
        const withdrawn = { id: request.params.takenId ?? '', reason: field(request.fields, 'reason') };
        await withdrawValue(service, request, patientId, withdrawn);
        return undefined;
      }),
    );
}

const valuePrefix = 'value.';

/** The typed measures of a visit; a chosen reading replaces an ambiguous value. */
function entriesOf(request: AuthenticatedRequest): object[] {
  const text = (name: string) => field(request.fields, name);
  return Object.keys(request.fields)
    .filter((name) => name.startsWith(valuePrefix) && text(name) !== '')
    .map((name) => {
      const measureId = name.slice(valuePrefix.length);
      return {
        ...{ entryId: text(`entry.${measureId}`), measureId, takenOn: text('takenOn'), note: text('note') },
        value: text(`reading.${measureId}`) || text(name),
        confirmed: text(`confirmed.${measureId}`),
      };
    });
}

/** The contents of a visit form: what was typed, or empty for today. */
function visitOf(request: AuthenticatedRequest, isTyped: boolean): VisitForm {
  if (!isTyped) return { takenOn: clinicDayOf(request), note: '', typed: new Map() };
  const text = (name: string) => field(request.fields, name);
  const names = Object.keys(request.fields).filter(
    (name) => name.startsWith(valuePrefix) && text(name) !== '',
  );
  return {
    takenOn: text('takenOn'),
    note: text('note'),
    typed: new Map(
      names.map((name) => {
        const id = name.slice(valuePrefix.length);
        return [id, { value: text(name), entryId: text(`entry.${id}`) || randomUUID() }];
      }),
    ),
  };
}

/** The contents of an entry form: what was typed, or empty for today. */
function entryOf(request: AuthenticatedRequest, isTyped: boolean): EntryForm {
  if (!isTyped)
    return { entryId: randomUUID(), measureId: '', value: '', takenOn: clinicDayOf(request), note: '' };
  const typed = (name: string) => field(request.fields, name);
  return {
    entryId: typed('entryId') || randomUUID(),
    measureId: typed('measureId'),
    value: typed('value'),
    takenOn: typed('takenOn'),
    note: typed('note'),
  };
}
