import { randomUUID } from 'node:crypto';
import { z } from 'zod';
import { note } from '../../../clinic/actor.js';
import { patientAtWork, readPatient } from '../../../clinic/people/openRecord.js';
import { descriptionData } from '../../../clinic/records/descriptionData.js';
import { draftNote, noteSchema, signNote } from '../../../clinic/records/progressNotes.js';
import { attempt, refused } from '../../../clinic/refusals.js';
import { parsedForm, text } from '../../../clinic/values.js';
import { pageSizeIn } from '../../../documents/paperOf.js';
import { type PageSize, pageSizes } from '../../../documents/pdf/paper.js';
import { plainText } from '../../../documents/plainText.js';
import {
  descriptionPaper,
  programDescription,
  reportingItems,
} from '../../../documents/programDescription.js';
import { notePaper } from '../../../documents/progressNote.js';
import type { Problem } from '../../../errors/stillcountError.js';
import { addDays, isoDayIn } from '../../../schedule/wallClock.js';
import type { Patient } from '../../../store/people/patients.js';
import { prescriptionsOf } from '../../../store/prescribing/prescriptions.js';
import { notesOf } from '../../../store/records/progressNotes.js';
import { dateInWords, timeInWords } from '../../../text/dates.js';
import { field } from '../../forms/fields.js';
import { withSentences } from '../../server/problems.js';
import type { HttpResources } from '../../server/resources.js';
import { type AuthenticatedRequest, type PageReply, Routes } from '../../server/routing.js';
import { handoutFor } from './handoutFor.js';
import { Printer, textFile } from './printer.js';

/** The default period of a note. */
const usualDays = 28;
const mostAddedLetters = 1_000;
const secretsSchema = z.object({
  token: z.string().regex(/^[\w-]{43}$/, { error: 'not a link' }),
  code: z.string().regex(/^[2-9A-HJ-NP-Z]{5} [2-9A-HJ-NP-Z]{5}$/, { error: 'not a code' }),
});

/** A patient's documents: handout, progress notes, and a full program description. */
export function paperRoutes(
  service: Pick<
    HttpResources,
    'store' | 'workshop' | 'pages' | 'words' | 'assets' | 'lengths' | 'versions' | 'now' | 'https'
  >,
): Routes {
  const { store, words } = service;
  const printer = new Printer(service.workshop.papers);
  const { texts } = printer;

  async function page(
    visit: AuthenticatedRequest,
    patient: Patient,
    problemsOfForm: readonly Problem[] | null = null,
  ): Promise<PageReply> {
    const { clinicId, clinicZone } = visit.clinician;
    const today = isoDayIn(visit.nowMs, patient.zone);
    const asked = (name: string) => field(problemsOfForm === null ? visit.query : visit.fields, name);
    const days = {
      fromDay: asked('fromDay') || addDays(today, 1 - usualDays),
      untilDay: asked('untilDay') || today,
    };
    const draft = await attempt(async () => {
      const checked = parsedForm(noteSchema.pick({ fromDay: true, untilDay: true }), days);
      return draftNote(service, visit, { patient, days: checked, texts });
    });
    const ofDraft = draft.kind === 'refused' ? withSentences(draft.refusals, words) : [];
    const problems = [...(problemsOfForm ?? []), ...ofDraft];
    const notes = await store.read((db) => notesOf(db, patient.id));
    const programs = await store.read((db) => prescriptionsOf(db, clinicId, patient.id));
    return {
      kind: 'page',
      page: 'papers',
      status: problems.length === 0 ? 200 : 400,
      view: {
        patient,
        mayWrite: visit.mayWrite,
        hasProblems: problems.length > 0,
        problems: problems.map(({ path, ...rest }) => ({
          ...rest,
          path: words.papers.fields[path ?? ''] ?? path,
        })),
        hasPrograms: programs.length > 0,
        programs: programs.map(({ id, title, state }) => ({
          id,
          title,
          state: words.prescriptionStates[state],
        })),
        ...days,
        today,
        draft: draft.kind === 'refused' ? null : { ...draft.value, noteId: randomUUID() },
        typedWords: problemsOfForm === null ? '' : field(visit.fields, 'words'),
        hasNotes: notes.length > 0,
        notes: notes.map(({ id, fromDay, untilDay, by, atMs }) => ({
          ...{ id, by, when: timeInWords(atMs, clinicZone) },
          ...{ from: dateInWords(fromDay), until: dateInWords(untilDay) },
        })),
        items: reportingItems.map((item) => ({ item, about: words.papers.items[item] })),
      },
    };
  }

  async function noteFile(visit: AuthenticatedRequest, kind: 'pdf' | 'text'): Promise<PageReply> {
    const patient = await patientAtWork(service, visit, visit.params.id ?? '');
    const notes = await store.read((db) => notesOf(db, patient.id));
    const found = notes.find(({ id }) => id === visit.params.noteId);
    if (found === undefined) throw refused('no-such-note');
    if (kind === 'text') return textFile(found.text, 'note');
    const pageSize = pageSizeIn(visit.clinician.clinicZone);
    const about = { text: found.text, personName: patient.name, pageSize, madeAtMs: found.atMs };
    return printer.pdf(notePaper(texts, about), 'note');
  }

  return new Routes(service)
    .authenticatedRoute('get', '/patients/:id/papers', async (visit) => {
      const patient = await readPatient(service, visit, visit.params.id ?? '');
      const shown = await page(visit, patient);
      printer.makeReady(patient.name);
      return shown;
    })
    .authenticatedRoute('get', '/patients/:id/papers/handout', async (visit) => {
      const patient = await patientAtWork(service, visit, visit.params.id ?? '');
      const prescriptionId = field(visit.query, 'program');
      const pageSize = pageSizeOf(field(visit.query, 'paper'));
      return handoutFor(service, printer, visit, { patient, prescriptionId, pageSize, secrets: null });
    })
    .authenticatedRoute('post', '/patients/:id/papers/handout', async (visit) => {
      const patient = await patientAtWork(service, visit, visit.params.id ?? '');
      const typed = (name: string) => field(visit.fields, name);
      const secrets = parsedForm(secretsSchema, { token: typed('token'), code: typed('code') });
      const pageSize = pageSizeOf(typed('paper'));
      return handoutFor(service, printer, visit, {
        patient,
        prescriptionId: typed('program'),
        pageSize,
        secrets,
      });
    })
    .authenticatedRoute('post', '/patients/:id/papers/notes', async (visit) => {
      const patient = await patientAtWork(service, visit, visit.params.id ?? '');
      const names = ['noteId', 'fromDay', 'untilDay', 'seen', 'words'];
      const fields = Object.fromEntries(names.map((name) => [name, field(visit.fields, name)]));
      const result = await attempt(async () =>
        signNote(service, visit, { patient, texts, typed: parsedForm(noteSchema, fields) }),
      );
      if (result.kind === 'refused') return page(visit, patient, withSentences(result.refusals, words));
      return { kind: 'redirect', to: `/patients/${patient.id}/papers#notes` };
    })
    .authenticatedRoute('get', '/patients/:id/papers/notes/:noteId/text', (visit) => noteFile(visit, 'text'))
    .authenticatedRoute('get', '/patients/:id/papers/notes/:noteId/pdf', (visit) => noteFile(visit, 'pdf'))
    .authenticatedRoute('post', '/patients/:id/papers/description', async (visit) => {
      const patient = await patientAtWork(service, visit, visit.params.id ?? '');
      const typed = reportingItems.map((item) => [item, field(visit.fields, `added.${item}`)] as const);
      const added = parsedForm(z.record(z.string(), text(mostAddedLetters)), Object.fromEntries(typed));
      const prescriptionId = field(visit.fields, 'program');
      const data = await descriptionData(service, visit, { patient, prescriptionId }, added);
      await store.write((db) =>
        note(db, visit, { patientId: patient.id, subject: prescriptionId, action: 'paper-made' }),
      );
      if (field(visit.fields, 'as') === 'text') {
        return textFile(plainText(programDescription(texts, data)), 'program');
      }
      const pageSize = pageSizeOf(field(visit.fields, 'paper')) ?? pageSizeIn(visit.clinician.clinicZone);
      return printer.pdf(descriptionPaper(texts, data, { pageSize, madeAtMs: visit.nowMs }), 'program');
    });
}

/** Null for the default of the clinic's region. */
function pageSizeOf(asked: string): PageSize | null {
  return (Object.keys(pageSizes) as PageSize[]).find((size) => size === asked) ?? null;
}
