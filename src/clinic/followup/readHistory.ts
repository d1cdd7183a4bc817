import type { History, ProgramHistory, VersionHistory, WarningGiven } from '../../followup/history.js';
import { outcomesOf, type SlotCheckIn } from '../../followup/outcomes.js';
import { readSigns } from '../../followup/warningSigns.js';
import type { Listened } from '../../listening/listened.js';
import { checkInAnswersSchema, easierChoices } from '../../listening/report.js';
import { type ReadPrescription, type Timetable, timetableOf, weekdays } from '../../prescription/content.js';
import { programOfSession } from '../../prescription/sessionProgram.js';
import { occurrencesOf, type PlanHistory } from '../../schedule/calendar.js';
import { timesOn, weekdaysOffered } from '../../schedule/slots.js';
import type { Reported, ReportedCheckIn, Warning } from '../../store/followup/history.js';
import type { Prescription, SignedVersion } from '../../store/people/chart.js';
import { dayMs } from '../../time/units.js';
import type { PlaybackResources } from '../listening/notPlayable.js';
import type { SessionPlace } from '../listening/sessions.js';
import type { Chart } from '../people/chart.js';
import type { Resources } from '../resources/resources.js';
import { easierLength } from '../resources/sessionLengths.js';

/** The resources for reading a patient's history. */
export type HistoryResources = Pick<Resources, 'workshop' | 'lengths' | 'versions' | 'now'>;

/** Includes the days ahead, because a listener who chooses the days can still choose among them. */
const aheadDays = 6;

/** Everything that has happened with a patient so far, in all programs, for the follow-up rules. */
export async function readHistory(service: HistoryResources, chart: Chart): Promise<History> {
  const nowMs = service.now();
  const plans = await readPlans(chart);
  const listened = await chart.listened();
  const reported = await chart.reported();
  const programs: ProgramHistory[] = [];
  // The store returns the newest first.
  for (const program of [...plans.programs].reverse()) {
    programs.push(await programHistory(service, program, { nowMs, plans, listened, reported }));
  }
  const unread = await chart.unreadNotes();
  return { zone: chart.patient.zone, nowMs, programs, unreadNotesAtMs: unread.map(({ atMs }) => atMs) };
}

/** Everything that ever affected when a patient's programs are due. */
export type Plans = {
  /** Newest first, each with its versions, also newest first. */
  programs: { prescription: Prescription; versions: readonly SignedVersion[]; history: PlanHistory }[];
  warnings: readonly Warning[];
};

/** Reads from a chart when the patient's programs were and are due. */
export async function readPlans(chart: Chart): Promise<Plans> {
  const { patient } = chart;
  const breaks = await chart.breakHistory();
  const warnings = await chart.warnings();
  const notPlayable = await chart.notPlayableStretches();
  const holds = warnings.map(({ receivedAtMs, answer }) => ({
    fromMs: receivedAtMs,
    untilMs: answer?.atMs ?? null,
  }));
  const programs: Plans['programs'] = [];
  for (const prescription of await chart.programs()) {
    const versions = await chart.versions(prescription.id);
    const history: PlanHistory = {
      prescriptionId: prescription.id,
      zone: patient.zone,
      zoneRevision: patient.revision,
      versions: versions.map(({ number, signedAtMs, content }) => ({
        number,
        signedAtMs,
        timetable: timetableOf(content),
      })),
      states: await chart.stateChanges(prescription.id),
      breaks,
      holds: [...holds, ...(notPlayable.get(prescription.id) ?? [])],
    };
    programs.push({ prescription, versions, history });
  }
  return { programs, warnings };
}

type Known = { nowMs: number; plans: Plans; listened: readonly Listened[]; reported: Reported };

async function programHistory(
  service: PlaybackResources,
  { prescription, versions: signed, history }: Plans['programs'][number],
  { nowMs, plans, listened, reported }: Known,
): Promise<ProgramHistory> {
  const { id, title, state } = prescription;
  const isOwn = ({ prescriptionId }: { prescriptionId: string }) => prescriptionId === id;
  const own = listened.filter(isOwn);
  const versions: VersionHistory[] = [];
  for (const version of [...signed].reverse()) {
    const planned = history.versions.find(({ number }) => number === version.number);
    versions.push(
      await versionHistory(service, id, { version, timetable: planned?.timetable, listened: own }),
    );
  }
  const firstMs = Math.min(nowMs, ...versions.map(({ signedAtMs }) => signedAtMs));
  const backDays = Math.ceil((nowMs - firstMs) / dayMs) + 1;
  return {
    prescriptionId: id,
    title,
    state,
    versions,
    outcomes: outcomesOf({
      ...{ prescriptionId: id, zone: history.zone, nowMs, versions, listened: own },
      occurrences: occurrencesOf(history, nowMs, { backDays, aheadDays }),
      checkIns: reported.checkIns.filter(isOwn).map(checkInOf),
      putOff: reported.putOff,
      fetchedSlots: new Set(reported.fetched.filter(isOwn).map(({ slot }) => slot)),
    }),
    warnings: plans.warnings.map((warning) => warningOf(warning, id)).sort((a, b) => a.atMs - b.atMs),
  };
}

async function versionHistory(
  service: PlaybackResources,
  prescriptionId: string,
  {
    version,
    timetable,
    listened,
  }: { version: SignedVersion; timetable: Timetable | undefined; listened: readonly Listened[] },
): Promise<VersionHistory> {
  const { versions, lengths, workshop } = service;
  const { number, signedAtMs } = version;
  const known = {
    number,
    signedAtMs,
    sessionsAWeek: timetable === undefined ? 0 : sessionsAWeekOf(timetable),
  };
  const read = versions.read(prescriptionId, version);
  const unreadable = { ...known, exercises: null, durationMs: null, exerciseEndsMs: [] };
  if (read === null) return unreadable;
  const { program } = read;
  // Wording gets shorter as session numbers grow: the first number heard of a version represents all of them.
  const heard = listened.filter(({ versionNumber }) => versionNumber === number);
  const sessionNumber =
    heard.length === 0 ? program.session.number : Math.min(...heard.map((each) => each.sessionNumber));
  const place = { prescriptionId, versionNumber: number, sessionNumber };
  const length = await lengths.latelyOrNull(workshop, programOfSession(program, sessionNumber), place);
  if (length === null) return unreadable;
  const easier = await easierHeard(service, read, { place, heard });
  return { ...known, exercises: program.exercises, ...length, easier };
}

/** Only sessions that were heard: laying one out takes time, and most listeners choose the full one. */
async function easierHeard(
  service: Pick<Resources, 'workshop' | 'lengths'>,
  read: ReadPrescription,
  { place, heard }: { place: SessionPlace; heard: readonly Listened[] },
): Promise<NonNullable<VersionHistory['easier']>> {
  const easier: VersionHistory['easier'] = {};
  for (const choice of easierChoices) {
    if (!heard.some((each) => each.choice === choice)) continue;
    const length = await easierLength(service, read, { ...place, choice });
    if (length !== null) easier[choice] = length;
  }
  return easier;
}

/** If the listener may choose the days, the chosen ones are assumed to be typical. */
function sessionsAWeekOf(timetable: Timetable): number {
  const offered = weekdaysOffered(timetable).length;
  const all = weekdays.reduce((sum, weekday) => sum + timesOn(timetable, weekday).length, 0);
  return offered <= timetable.daysAWeek ? all : Math.round((all * timetable.daysAWeek) / offered);
}

function checkInOf({ id, atMs, answers, caregiverId, slot, versionNumber }: ReportedCheckIn): SlotCheckIn {
  return {
    ...{ id, atMs, caregiverId, slot, versionNumber },
    answers: checkInAnswersSchema.parse(JSON.parse(answers)),
  };
}

function warningOf(warning: Warning, prescriptionId: string): WarningGiven {
  return {
    atMs: warning.atMs,
    versionNumber: warning.prescriptionId === prescriptionId ? warning.versionNumber : null,
    signs: readSigns(warning.signs),
    answeredAtMs: warning.answer?.atMs ?? null,
  };
}
