import { randomUUID } from 'node:crypto';
import { dayOf } from '../../../clinic/actor.js';
import { type Measured, measuredOf } from '../../../clinic/followup/measured.js';
import {
  type Entered,
  enterMeasure,
  measureEntrySchema,
  strikeOut,
} from '../../../clinic/followup/measures.js';
import { addActivity, addOwn, stopOwn } from '../../../clinic/followup/ownMeasures.js';
import { type Asked, enterVisit, visitMeasuresSchema } from '../../../clinic/followup/visitMeasures.js';
import { patientAtWork, readPatient } from '../../../clinic/people/openRecord.js';
import { attempt } from '../../../clinic/refusals.js';
import { parsedForm } from '../../../clinic/values.js';
import type { Problem } from '../../../errors/stillcountError.js';
import type { Patient } from '../../../store/people/patients.js';
import { field } from '../../forms/fields.js';
import { withSentences } from '../../server/problems.js';
import type { HttpResources } from '../../server/resources.js';
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
  asked?: readonly Asked[];
};

/** A patient's measures: entry, tables and charts, patient-chosen activities, clinic measures. */
export function measureRoutes(
  service: Pick<HttpResources, 'store' | 'workshop' | 'pages' | 'words' | 'assets' | 'now' | 'https'>,
): Routes {
  const { store, words } = service;

  async function page(
    visit: AuthenticatedRequest,
    patient: Patient,
    unfinished: Unfinished | null,
  ): Promise<PageReply> {
    const { clinicId } = visit.clinician;
    const measured = await store.read((db) => measuredOf(db, service, { clinicId, patient }));
    const problems = unfinished?.problems;
    const entry = entryOf(visit, unfinished?.form === 'entry');
    return {
      kind: 'page',
      page: 'measures',
      status: problems === undefined ? 200 : 400,
      view: {
        patient,
        mayWrite: visit.mayWrite,
        today: dayOf(visit),
        hasProblems: problems !== undefined,
        problems: problems === undefined ? [] : worded(problems, measured),
        question:
          unfinished?.question === undefined ? null : questionView(service, unfinished.question, entry),
        ...visitView(service, measured, {
          form: visitOf(visit, unfinished?.form === 'visit'),
          asked: unfinished?.asked ?? [],
          faulty: new Set(problems?.flatMap(({ path }) => path ?? [])),
        }),
        ...entryView(service, measured, entry),
        ...ownView(visit, unfinished?.form ?? 'other'),
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

  function ownView(visit: AuthenticatedRequest, form: Form): object {
    const typed = (of: Form, name: string) => (form === of ? field(visit.fields, name) : '');
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

  /** Does what a form requests and shows the page again: with the input if it is refused or has to be confirmed. */
  async function kept(
    visit: AuthenticatedRequest,
    { form, place }: { form: Form; place: string },
    act: (patientId: string) => Promise<Entered | undefined>,
  ): Promise<PageReply> {
    const patientId = visit.params.id ?? '';
    const result = await attempt(() => act(patientId));
    if (result.kind === 'refused') {
      const problems = withSentences(result.refusals, words);
      return page(visit, await patientAtWork(service, visit, patientId), { form, problems });
    }
    const { value: entered } = result;
    if (entered !== undefined && entered.kind !== 'kept') {
      return page(visit, await patientAtWork(service, visit, patientId), { form, question: entered });
    }
    return { kind: 'redirect', to: `/patients/${patientId}/measures#${place}` };
  }

  return new Routes(service)
    .authenticatedRoute('get', '/patients/:id/measures', async (visit) =>
      page(visit, await readPatient(service, visit, visit.params.id ?? ''), null),
    )
    .authenticatedRoute('post', '/patients/:id/measures', (visit) =>
      kept(visit, { form: 'entry', place: `m-${field(visit.fields, 'measureId')}` }, (patientId) => {
        const names = ['entryId', 'measureId', 'value', 'takenOn', 'note', 'confirmed'];
        const typed = Object.fromEntries(names.map((name) => [name, field(visit.fields, name)]));
        return enterMeasure(service, visit, patientId, parsedForm(measureEntrySchema, typed));
      }),
    )
    .authenticatedRoute('post', '/patients/:id/measures/visit', async (visit) => {
      const patientId = visit.params.id ?? '';
      const result = await attempt(async () => {
        const entries = parsedForm(visitMeasuresSchema, entriesOf(visit));
        return enterVisit(service, visit, patientId, entries);
      });
      if (result.kind === 'refused') {
        const problems = withSentences(result.refusals, words);
        return page(visit, await patientAtWork(service, visit, patientId), { form: 'visit', problems });
      }
      if (result.value.length > 0) {
        const asked = result.value;
        return page(visit, await patientAtWork(service, visit, patientId), { form: 'visit', asked });
      }
      return { kind: 'redirect', to: `/patients/${patientId}/measures#visit` };
    })
    .authenticatedRoute('post', '/patients/:id/measures/activities', (visit) =>
      kept(visit, { form: 'activity', place: 'activities' }, async (patientId) => {
        await addActivity(service, visit, patientId, { name: field(visit.fields, 'name') });
        return undefined;
      }),
    )
    .authenticatedRoute('post', '/patients/:id/measures/own', (visit) =>
      kept(visit, { form: 'own', place: 'own' }, async (patientId) => {
        const text = (name: string) => field(visit.fields, name);
        const own = { name: text('name'), unit: text('unit'), least: text('least'), most: text('most') };
        await addOwn(service, visit, patientId, { ...own, better: text('better') });
        return undefined;
      }),
    )
    .authenticatedRoute('post', '/patients/:id/measures/own/:ownId/end', (visit) =>
      kept(visit, { form: 'other', place: 'own' }, async (patientId) => {
        await stopOwn(service, visit, patientId, visit.params.ownId ?? '');
        return undefined;
      }),
    )
    .authenticatedRoute('post', '/patients/:id/measures/:takenId/withdraw', (visit) =>
      kept(visit, { form: 'other', place: 'enter' }, async (patientId) => {
        const withdrawn = { id: visit.params.takenId ?? '', reason: field(visit.fields, 'reason') };
        await strikeOut(service, visit, patientId, withdrawn);
        return undefined;
      }),
    );
}

const valuePrefix = 'value.';

/** The typed measures of a visit; a chosen reading replaces an ambiguous value. */
function entriesOf(visit: AuthenticatedRequest): object[] {
  const text = (name: string) => field(visit.fields, name);
  return Object.keys(visit.fields)
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
function visitOf(visit: AuthenticatedRequest, isTyped: boolean): VisitForm {
  if (!isTyped) return { takenOn: dayOf(visit), note: '', typed: new Map() };
  const text = (name: string) => field(visit.fields, name);
  const names = Object.keys(visit.fields).filter((name) => name.startsWith(valuePrefix) && text(name) !== '');
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
function entryOf(visit: AuthenticatedRequest, isTyped: boolean): EntryForm {
  if (!isTyped) return { entryId: randomUUID(), measureId: '', value: '', takenOn: dayOf(visit), note: '' };
  const typed = (name: string) => field(visit.fields, name);
  return {
    entryId: typed('entryId') || randomUUID(),
    measureId: typed('measureId'),
    value: typed('value'),
    takenOn: typed('takenOn'),
    note: typed('note'),
  };
}
