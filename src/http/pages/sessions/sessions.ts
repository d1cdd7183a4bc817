import { readNotes } from '../../../clinic/followup/readNotes.js';
import { resolveWarnings } from '../../../clinic/followup/warnings.js';
import { readChart } from '../../../clinic/people/chart.js';
import { type Listened, sumUp } from '../../../listening/listened.js';
import { checkInAnswersSchema } from '../../../listening/report.js';
import { warningsOf } from '../../../store/followup/history.js';
import { notesReadOf } from '../../../store/followup/notes.js';
import { type CheckInRow, checkInsOf, listHeardSince } from '../../../store/listening/listeningRecords.js';
import { dateInWords, lengthInWords, timeInWords } from '../../../text/dates.js';
import { dayMs } from '../../../time/units.js';
import { field } from '../../forms/fields.js';
import type { HttpResources } from '../../server/resources.js';
import type { PageResources } from '../../server/routing.js';
import { Routes } from '../../server/routing.js';
import { foundView, unreadNotesView } from './notesView.js';
import { warningView } from './warningView.js';

const shownDays = 42;
const mostCheckIns = 200;
const mostWarnings = 50;
/** Three a day, and some that were interrupted. */
const mostShown = 200;

/** What a check-in is shown with: the caregivers' names, and the reader of its note. */
type CheckInNames = {
  zone: string;
  names: ReadonlyMap<string, string>;
  reads: Awaited<ReturnType<typeof notesReadOf>>;
};

/** Playback, check-ins, and warning signs with their answers. */
export function sessionRoutes(service: PageResources & Pick<HttpResources, 'workshop'>): Routes {
  const { store, words } = service;

  function heardView(
    listened: Listened,
    {
      zone,
      names,
      titles,
      checkIns,
      reads,
    }: CheckInNames & {
      titles: ReadonlyMap<string, string>;
      checkIns: readonly CheckInRow[];
    },
  ): object {
    const own = checkIns.filter(({ listeningId }) => listeningId === listened.listeningId);
    return {
      when: timeInWords(listened.startedAtMs, zone),
      versionNumber: listened.versionNumber,
      sessionNumber: listened.sessionNumber,
      heard: lengthInWords(listened.heardMs),
      reached: lengthInWords(listened.reachedMs),
      isFinished: listened.finishedAtMs !== null,
      title: titles.get(listened.prescriptionId) ?? '',
      choice: listened.choice === null ? null : words.easier.sessions[listened.choice],
      isStopped: listened.stoppedAtMs !== null,
      pauses:
        listened.pauseCount === 0
          ? null
          : {
              count: listened.pauseCount,
              length: listened.pausedMs === 0 ? null : lengthInWords(listened.pausedMs),
            },
      by: listened.caregiverId === null ? null : (names.get(listened.caregiverId) ?? words.formerCaregiver),
      checkIns: own.map((checkIn) => checkInView(checkIn, { zone, names, reads })),
    };
  }

  function checkInView(
    { id, answers, caregiverId }: CheckInRow,
    { zone, names, reads }: CheckInNames,
  ): object {
    const checkInAnswers = checkInAnswersSchema.parse(JSON.parse(answers));
    const worded = (value: number | string | null | undefined) =>
      value === undefined ? words.notAsked : value === null ? words.skippedAnswer : String(value);
    const { signs } = checkInAnswers;
    const text = checkInAnswers.note?.trim() ?? '';
    const read = reads.get(id);
    return {
      by: caregiverId === null ? null : (names.get(caregiverId) ?? words.formerCaregiver),
      done: worded(
        checkInAnswers.done == null ? checkInAnswers.done : words.amountsDone[checkInAnswers.done],
      ),
      painBefore: worded(checkInAnswers.painBefore),
      painAfter: worded(checkInAnswers.painAfter),
      effort: worded(checkInAnswers.effort),
      signs: signs == null ? worded(signs) : signs.length === 0 ? words.noSigns : words.someSigns,
      note:
        text === ''
          ? null
          : {
              text,
              found: foundView(service, text),
              read:
                read === undefined
                  ? null
                  : { by: read.clinicianName, when: timeInWords(read.atMs, zone), finding: read.found },
            },
    };
  }

  return new Routes(service)
    .authenticatedRoute('get', '/patients/:id/heard', async (request) => {
      const chart = await readChart(service, request, request.params.id ?? '');
      const { patient } = chart;
      const { zone } = patient;
      const sinceMs = request.nowMs - shownDays * dayMs;
      const { steps, notToday, deliveries } = await store.read((db) =>
        listHeardSince(db, patient.id, sinceMs),
      );
      const checkIns = await store.read((db) => checkInsOf(db, patient.id, mostCheckIns));
      const warnings = await store.read((db) => warningsOf(db, patient.id, mostWarnings));
      const caregivers = await chart.caregivers();
      const reads = await store.read((db) => notesReadOf(db, patient.id));
      const names = new Map(caregivers.map(({ id, name }) => [id, name]));
      const prescriptions = await chart.programs();
      const titles = new Map(prescriptions.map(({ id, title }) => [id, title]));
      const listened = sumUp(steps).reverse();
      const heardIds = new Set(listened.map(({ listeningId }) => listeningId));
      return {
        kind: 'page',
        page: 'heard',
        view: {
          patient,
          shownDays,
          hasHeard: listened.length > 0,
          heard: listened
            .slice(0, mostShown)
            .map((each) => heardView(each, { zone, names, titles, checkIns, reads })),
          // An answer may arrive before the steps of its session, or belong to an older one.
          otherCheckIns: checkIns
            .filter(({ listeningId, atMs }) => atMs >= sinceMs && !heardIds.has(listeningId))
            .map((checkIn) => ({
              when: timeInWords(checkIn.atMs, zone),
              choice: checkIn.choice === null ? null : words.easier.sessions[checkIn.choice],
              ...checkInView(checkIn, { zone, names, reads }),
            })),
          hasPutOff: notToday.length > 0,
          putOff: notToday.map(({ slot, reason }) => ({
            day: dateInWords(slot.slice(0, 10)),
            why: words.notToday[reason],
          })),
          hasFetched: deliveries.length > 0,
          fetched: deliveries.map(({ slot, atMs }) => ({
            day: dateInWords(slot.slice(0, 10)),
            when: timeInWords(atMs, zone),
          })),
          hasWarnings: warnings.length > 0,
          warnings: warnings.map((warning) => warningView(service, warning, { zone, names })),
          seenUpToMs: request.nowMs,
          hasOpen: warnings.some(({ answer }) => answer === null),
          mayWrite: request.mayWrite,
          ...(await unreadNotesView(service, chart)),
        },
      };
    })
    .authenticatedRoute('post', '/patients/:id/notes', async (request) => {
      const patientId = request.params.id ?? '';
      const { note = [] } = request.fields;
      const checkInIds = typeof note === 'string' ? [note] : note;
      await readNotes(service, request, patientId, { checkInIds, found: field(request.fields, 'found') });
      return { kind: 'redirect', to: `/patients/${patientId}` };
    })
    .authenticatedRoute('post', '/patients/:id/warnings', async (request) => {
      const patientId = request.params.id ?? '';
      await resolveWarnings(service, request, patientId, {
        note: field(request.fields, 'note'),
        seenUpToMs: field(request.fields, 'seenUpToMs'),
        keepsPaused: field(request.fields, 'outcome') === 'pause',
      });
      return { kind: 'redirect', to: `/patients/${patientId}` };
    });
}
