import { randomUUID } from 'node:crypto';
import { StillcountError } from '../../errors/stillcountError.js';
import type { Patient } from '../../store/patients.js';
import { dayOf } from '../acts/actor.js';
import { type Entered, enterMeasure, measureEntrySchema, strikeOut } from '../acts/measures.js';
import { addActivity, addOwn, stopOwn } from '../acts/ownMeasures.js';
import { patientAtWork, readPatient } from '../acts/records.js';
import { type EntryForm, entryView, questionView } from '../followup/entryView.js';
import { measuredOf } from '../followup/measured.js';
import { measuresView } from '../followup/measuresView.js';
import { field } from '../forms/fields.js';
import { parsedForm } from '../forms/values.js';
import { type Answer, type MemberVisit, Routes } from '../routing.js';
import type { Service } from '../service.js';

/** The form that was sent and not taken, so that nothing of it is lost. */
type Form = 'entry' | 'activity' | 'own' | 'other';
type Unfinished = { form: Form; error?: StillcountError; question?: Exclude<Entered, { kind: 'kept' }> };

/** What is measured of one person: entry, tables and pictures, activities they chose, measures of the clinic's own. */
export function measureRoutes(service: Service): Routes {
  const { store, words } = service;

  async function page(visit: MemberVisit, patient: Patient, unfinished: Unfinished | null): Promise<Answer> {
    const { clinicId } = visit.clinician;
    const measured = await store.read((db) => measuredOf(db, service, { clinicId, patient }));
    const error = unfinished?.error;
    const entry = entryOf(visit, unfinished?.form === 'entry');
    return {
      kind: 'page',
      page: 'measures',
      title: `Measures of ${patient.name}`,
      status: error === undefined ? 200 : 400,
      view: {
        patient,
        mayWrite: visit.mayWrite,
        today: dayOf(visit),
        hasProblems: error !== undefined,
        problems: error === undefined ? [] : worded(error),
        question:
          unfinished?.question === undefined ? null : questionView(service, unfinished.question, entry),
        ...entryView(service, measured, entry),
        ...ownView(visit, unfinished?.form ?? 'other'),
        ...measuresView(service, measured, patient),
      },
    };
  }

  /** The names of fields as the page has them. */
  function worded({ problems }: StillcountError): object[] {
    const fields: Readonly<Record<string, string | undefined>> = words.measuring.fields;
    return problems.map(({ path, ...rest }) => ({
      ...rest,
      path: path === undefined ? path : (fields[path] ?? path),
    }));
  }

  function ownView(visit: MemberVisit, form: Form): object {
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

  /** Does what a form asks for and shows the page again: with what was typed when it is refused or asked about. */
  async function kept(
    visit: MemberVisit,
    { form, place }: { form: Form; place: string },
    act: (patientId: string) => Promise<Entered | undefined>,
  ): Promise<Answer> {
    const patientId = visit.params.id ?? '';
    try {
      const entered = await act(patientId);
      if (entered !== undefined && entered.kind !== 'kept') {
        return page(visit, await patientAtWork(service, visit, patientId), { form, question: entered });
      }
    } catch (error) {
      if (!(error instanceof StillcountError) || error.kind !== 'input') throw error;
      return page(visit, await patientAtWork(service, visit, patientId), { form, error });
    }
    return { kind: 'redirect', to: `/patients/${patientId}/measures#${place}` };
  }

  return new Routes(service)
    .member('get', '/patients/:id/measures', async (visit) =>
      page(visit, await readPatient(service, visit, visit.params.id ?? ''), null),
    )
    .member('post', '/patients/:id/measures', (visit) =>
      kept(visit, { form: 'entry', place: `m-${field(visit.fields, 'measureId')}` }, (patientId) => {
        const names = ['entryId', 'measureId', 'value', 'takenOn', 'note', 'confirmed'];
        const typed = Object.fromEntries(names.map((name) => [name, field(visit.fields, name)]));
        return enterMeasure(service, visit, patientId, parsedForm(measureEntrySchema, typed));
      }),
    )
    .member('post', '/patients/:id/measures/activities', (visit) =>
      kept(visit, { form: 'activity', place: 'activities' }, async (patientId) => {
        await addActivity(service, visit, patientId, { name: field(visit.fields, 'name') });
        return undefined;
      }),
    )
    .member('post', '/patients/:id/measures/own', (visit) =>
      kept(visit, { form: 'own', place: 'own' }, async (patientId) => {
        const text = (name: string) => field(visit.fields, name);
        const own = { name: text('name'), unit: text('unit'), least: text('least'), most: text('most') };
        await addOwn(service, visit, patientId, { ...own, better: text('better') });
        return undefined;
      }),
    )
    .member('post', '/patients/:id/measures/own/:ownId/end', (visit) =>
      kept(visit, { form: 'other', place: 'own' }, async (patientId) => {
        await stopOwn(service, visit, patientId, visit.params.ownId ?? '');
        return undefined;
      }),
    )
    .member('post', '/patients/:id/measures/:takenId/withdraw', (visit) =>
      kept(visit, { form: 'other', place: 'enter' }, async (patientId) => {
        const withdrawn = { id: visit.params.takenId ?? '', reason: field(visit.fields, 'reason') };
        await strikeOut(service, visit, patientId, withdrawn);
        return undefined;
      }),
    );
}

/** What stands in the form of an entry: what was typed, or an empty one for today. */
function entryOf(visit: MemberVisit, isTyped: boolean): EntryForm {
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
