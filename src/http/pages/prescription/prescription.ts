import { z } from 'zod';
import type { PlaybackResources } from '../../../clinic/listening/notPlayable.js';
import { openChart, readPrescriptionDuringWork, readPrescriptionOf } from '../../../clinic/people/chart.js';
import {
  changeProgramState,
  removeClinicProgram,
  saveAsClinicProgram,
} from '../../../clinic/prescribing/prescriptions.js';
import { countOpenFindingsNow } from '../../../clinic/screening/screening.js';
import { parseForm, requiredText, text } from '../../../clinic/values.js';
import { prescribedFigure } from '../../../documents/figures/exerciseFigure.js';
import { svgOnPage } from '../../../documents/figures/svg.js';
import { changeTimesInWords } from '../../../prescription/changeTimeWords.js';
import type { ReadPrescription } from '../../../prescription/content.js';
import { differences } from '../../../prescription/differences.js';
import { doseInWords } from '../../../prescription/doseWords.js';
import { ruleNames } from '../../../prescription/programFindings.js';
import { timetableInWords } from '../../../schedule/inWords.js';
import { isoDayIn } from '../../../schedule/wallClock.js';
import { clinicProgramsOf } from '../../../store/prescribing/clinicPrograms.js';
import { prescriptionStates } from '../../../store/schema/prescribingSchema.js';
import { dayInWords, timeInWords } from '../../../text/dates.js';
import { field } from '../../forms/fields.js';
import type { PageResources } from '../../server/routing.js';
import { Routes } from '../../server/routing.js';
import { mergeAdaptations } from '../prescribe/adaptedView.js';
import { dueView } from './dueView.js';
import { notPlayableView } from './notPlayableView.js';
import { settledView } from './settledView.js';

const stepSchema = z.object({ state: z.enum(prescriptionStates), reason: text(500) });

/** A prescription's page with its versions and their changes, and the clinic programs. */
export function prescriptionRoutes(service: PageResources & PlaybackResources): Routes {
  const { store, workshop, words } = service;

  function nowView(read: ReadPrescription | null): object | null {
    if (read === null) return null;
    const { shorterMinutes, lighter } = read.easier;
    return {
      easier: shorterMinutes === null && !lighter ? null : { minutes: shorterMinutes, isLighter: lighter },
      timetable: timetableInWords(read, words.schedule),
      changeTimes: changeTimesInWords(read.program.changeTimes),
      areUsual: read.timesOfDay.length === 0 && Object.keys(read.weekdayTimes).length === 0,
      exercises: read.program.exercises.map((entry) => ({
        name: entry.exercise.name,
        dose: doseInWords(entry.dose),
        side: entry.side === null ? null : words.sides[entry.side],
        note: entry.note,
        figures: (prescribedFigure(entry, read.program.catalogue.figureWords)?.poses ?? []).map(
          ({ panel, text }) => svgOnPage(panel, text),
        ),
      })),
      adapted: mergeAdaptations(read.program.exercises),
      hasAdapted: read.program.exercises.some(({ adaptations }) => adaptations.length > 0),
    };
  }

  return new Routes(service)
    .authenticatedRoute('get', '/prescriptions/:id', async (request) => {
      const { prescription, patient } = await readPrescriptionOf(service, request, request.params.id ?? '');
      const chart = openChart(store, request.clinician.clinicId, patient);
      const versions = await chart.versions(prescription.id);
      const changes = await chart.stateChanges(prescription.id);
      const zone = request.clinician.clinicZone;
      // What today's catalogue no longer allows stays on record.
      const kept = versions.map((version) => service.versions.kept(prescription.id, version));
      const read = kept.map(({ shown }) => shown);
      const notPlayable = await notPlayableView(service, chart, prescription);
      return {
        kind: 'page',
        page: 'prescription',
        view: {
          prescription,
          patient,
          state: words.prescriptionStates[prescription.state],
          isActive: prescription.state === 'active',
          isPaused: prescription.state === 'paused',
          mayResume: prescription.state === 'paused' && notPlayable === null,
          notPlayable,
          hasEnded: prescription.state === 'ended',
          openCount:
            prescription.state === 'ended'
              ? null
              : await countOpenFindingsNow(service, request, chart, prescription),
          now: nowView(read[0] ?? null),
          due: dueView(read[0] ?? null, prescription, isoDayIn(request.nowMs, patient.zone)),
          mayWrite: request.mayWrite,
          hasStateChanges: changes.length > 0,
          stateChanges: changes.map((change) => ({
            what: words.stateSteps[change.state],
            by: change.clinicianName,
            when: timeInWords(change.atMs, zone),
            reason: change.reason,
          })),
          versions: versions.map((version, index) => {
            const [now, before] = [read[index] ?? null, read[index + 1] ?? null];
            const changed =
              now === null || before === null ? [] : differences(before, now, ruleNames(workshop));
            return {
              number: version.number,
              by: version.signedByName,
              when: timeInWords(version.signedAtMs, zone),
              reason: version.reason,
              differences: changed,
              isFirst: index === versions.length - 1,
              isSame: now !== null && before !== null && changed.length === 0,
              isDamaged: version.damage !== null,
              isUnreadable: version.damage === null && (kept[index]?.problems.length ?? 0) > 0,
              settled: now === null ? [] : settledView(now.settlements, workshop, words),
            };
          }),
        },
      };
    })
    .authenticatedRoute('post', '/prescriptions/:id/state', async (request) => {
      const own = await readPrescriptionDuringWork(service, request, request.params.id ?? '');
      const step = { state: field(request.fields, 'state'), reason: field(request.fields, 'reason') };
      await changeProgramState(service, request, own, parseForm(stepSchema, step));
      return { kind: 'redirect', to: `/prescriptions/${own.prescription.id}` };
    })
    .authenticatedRoute('post', '/prescriptions/:id/keep', async (request) => {
      const own = await readPrescriptionDuringWork(service, request, request.params.id ?? '');
      const title = parseForm(z.object({ title: requiredText(120) }), {
        title: field(request.fields, 'title'),
      }).title;
      await saveAsClinicProgram(service, request, own, title);
      return { kind: 'redirect', to: '/programs' };
    })
    .authenticatedRoute('get', '/programs', async (request) => {
      const { clinicId, clinicZone } = request.clinician;
      const programs = await store.read((db) => clinicProgramsOf(db, clinicId));
      return {
        kind: 'page',
        page: 'programs',
        view: {
          mayWrite: request.mayWrite,
          hasPrograms: programs.length > 0,
          programs: programs.map(({ id, title, createdAtMs, by }) => ({
            id,
            title,
            by,
            when: dayInWords(createdAtMs, clinicZone),
          })),
        },
      };
    })
    .authenticatedRoute('post', '/programs/:id/end', async (request) => {
      await removeClinicProgram(service, request, request.params.id ?? '');
      return { kind: 'redirect', to: '/programs' };
    });
}
