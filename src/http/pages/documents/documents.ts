import { randomUUID } from 'node:crypto';
import { z } from 'zod';
import type { PlaybackResources } from '../../../clinic/listening/notPlayable.js';
import { readPatient, readPatientDuringWork } from '../../../clinic/people/chart.js';
import { makeDescriptionData } from '../../../clinic/records/descriptionData.js';
import { draftNote, noteSchema, signNote } from '../../../clinic/records/progressNotes.js';
import { refused } from '../../../clinic/refusals.js';
import { parseForm, text } from '../../../clinic/values.js';
import type { HandoutChoices } from '../../../documents/handout.js';
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
import { type Patient, prescriptionsOf } from '../../../store/people/chart.js';
import { notesOf } from '../../../store/records/progressNotes.js';
import { dateInWords, timeInWords } from '../../../text/dates.js';
import { field } from '../../forms/fields.js';
import { attempt, withSentences } from '../../server/problems.js';
import type { PageResources } from '../../server/routing.js';
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
export function documentRoutes(service: PageResources & PlaybackResources): Routes {
  const { store, words } = service;
  const printer = new Printer(service.workshop.papers);
  const { texts } = printer;

  async function page(
    request: AuthenticatedRequest,
    patient: Patient,
    problemsOfForm: readonly Problem[] | null = null,
  ): Promise<PageReply> {
    const { clinicId, clinicZone } = request.clinician;
    const today = isoDayIn(request.nowMs, patient.zone);
    const requested = (name: string) => field(problemsOfForm === null ? request.query : request.fields, name);
    const days = {
      fromDay: requested('fromDay') || addDays(today, 1 - usualDays),
      untilDay: requested('untilDay') || today,
    };
    const draft = await attempt(async () => {
      const checked = parseForm(noteSchema.pick({ fromDay: true, untilDay: true }), days);
      return draftNote(service, request, { patient, days: checked, texts });
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
        mayWrite: request.mayWrite,
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
        typedWords: problemsOfForm === null ? '' : field(request.fields, 'words'),
        hasNotes: notes.length > 0,
        notes: notes.map(({ id, fromDay, untilDay, by, atMs }) => ({
          ...{ id, by, when: timeInWords(atMs, clinicZone) },
          ...{ from: dateInWords(fromDay), until: dateInWords(untilDay) },
        })),
        items: reportingItems.map((item) => ({ item, about: words.papers.items[item] })),
      },
    };
  }

  async function noteFile(request: AuthenticatedRequest, kind: 'pdf' | 'text'): Promise<PageReply> {
    const patient = await readPatientDuringWork(service, request, request.params.id ?? '');
    const notes = await store.read((db) => notesOf(db, patient.id));
    const found = notes.find(({ id }) => id === request.params.noteId);
    if (found === undefined) throw refused('no-such-note');
    if (kind === 'text') return textFile(found.text, 'note');
    const pageSize = pageSizeIn(request.clinician.clinicZone);
    const about = { text: found.text, personName: patient.name, pageSize, madeAtMs: found.atMs };
    return printer.pdf(notePaper(texts, about), 'note');
  }

  return new Routes(service)
    .authenticatedRoute('get', '/patients/:id/papers', async (request) => {
      const patient = await readPatient(service, request, request.params.id ?? '');
      const shown = await page(request, patient);
      printer.makeReady(patient.name);
      return shown;
    })
    .authenticatedRoute('get', '/patients/:id/papers/handout', async (request) => {
      const patient = await readPatientDuringWork(service, request, request.params.id ?? '');
      const prescriptionId = field(request.query, 'program');
      const choices = choicesOf((name) => field(request.query, name));
      return handoutFor(service, printer, request, { patient, prescriptionId, choices, secrets: null });
    })
    .authenticatedRoute('post', '/patients/:id/papers/handout', async (request) => {
      const patient = await readPatientDuringWork(service, request, request.params.id ?? '');
      const typed = (name: string) => field(request.fields, name);
      const secrets = parseForm(secretsSchema, { token: typed('token'), code: typed('code') });
      return handoutFor(service, printer, request, {
        patient,
        prescriptionId: typed('program'),
        choices: choicesOf(typed),
        secrets,
      });
    })
    .authenticatedRoute('post', '/patients/:id/papers/notes', async (request) => {
      const patient = await readPatientDuringWork(service, request, request.params.id ?? '');
      const names = ['noteId', 'fromDay', 'untilDay', 'seen', 'words'];
      const fields = Object.fromEntries(names.map((name) => [name, field(request.fields, name)]));
      const result = await attempt(async () =>
        signNote(service, request, { patient, texts, typed: parseForm(noteSchema, fields) }),
      );
      if (result.kind === 'refused') return page(request, patient, withSentences(result.refusals, words));
      return { kind: 'redirect', to: `/patients/${patient.id}/papers#notes` };
    })
    .authenticatedRoute('get', '/patients/:id/papers/notes/:noteId/text', (request) =>
      noteFile(request, 'text'),
    )
    .authenticatedRoute('get', '/patients/:id/papers/notes/:noteId/pdf', (request) =>
      noteFile(request, 'pdf'),
    )
    .authenticatedRoute('post', '/patients/:id/papers/description', async (request) => {
      const patient = await readPatientDuringWork(service, request, request.params.id ?? '');
      const typed = reportingItems.map((item) => [item, field(request.fields, `added.${item}`)] as const);
      const added = parseForm(z.record(z.string(), text(mostAddedLetters)), Object.fromEntries(typed));
      const prescriptionId = field(request.fields, 'program');
      const data = await makeDescriptionData(service, request, { patient, prescriptionId }, added);
      if (field(request.fields, 'as') === 'text') {
        return textFile(plainText(programDescription(texts, data)), 'program');
      }
      const pageSize = pageSizeOf(field(request.fields, 'paper')) ?? pageSizeIn(request.clinician.clinicZone);
      return printer.pdf(descriptionPaper(texts, data, { pageSize, madeAtMs: request.nowMs }), 'program');
    });
}

/** What was chosen for a handout; whatever is not known counts as not chosen. */
function choicesOf(requested: (name: string) => string): HandoutChoices {
  const ticks = Number(requested('ticks'));
  return {
    pageSize: pageSizeOf(requested('paper')),
    isLargePrint: requested('print') === 'large',
    ticksEachDay: ticks === 1 || ticks === 2 ? ticks : 0,
  };
}

/** Null for the default of the clinic's region. */
function pageSizeOf(requested: string): PageSize | null {
  return (Object.keys(pageSizes) as PageSize[]).find((size) => size === requested) ?? null;
}
