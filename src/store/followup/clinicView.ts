import { isUnwell, notTodayReasons } from '../../listening/report.js';
import { dayMs } from '../../time/units.js';
import { programsWithNewest, verifySignedContent } from '../attention/signed.js';
import type { Db } from '../engine/openStore.js';
import type { AdviceWaits } from '../schema/followUpSchema.js';

const unwellReasons = notTodayReasons.filter(isUnwell);

/** An active program, with the timetable of its newest version in `content`. */
export type RunningProgram = {
  id: string;
  patientId: string;
  zone: string;
  title: string;
  /** Null if it is damaged. */
  content: string | null;
  /** When it became active, or was last resumed. */
  sinceMs: number;
};

/** All active programs of a clinic. */
export async function listRunningPrograms(db: Db, clinicId: string): Promise<RunningProgram[]> {
  const rows = await programsWithNewest(db)
    .innerJoin('patient', 'patient.id', 'prescription.patientId')
    .select('patient.zone')
    .select(({ selectFrom }) =>
      selectFrom('prescriptionState')
        .select(({ fn }) => fn.max('prescriptionState.atMs').as('atMs'))
        .whereRef('prescriptionState.prescriptionId', '=', 'prescription.id')
        .as('changedAtMs'),
    )
    .where('patient.clinicId', '=', clinicId)
    .where('prescription.state', '=', 'active')
    .execute();
  return rows.map((row) => ({
    ...{ id: row.id, patientId: row.patientId, zone: row.zone, title: row.title },
    content: verifySignedContent(row, row).content,
    sinceMs: Math.max(row.createdAtMs, Number(row.changedAtMs ?? 0)),
  }));
}

/**
 * Sessions heard to the end, sessions skipped unwell, and breaks, for all patients of a clinic since a given time or
 * day.
 */
export async function readRecentActivity(
  db: Db,
  clinicId: string,
  { sinceMs, sinceDay }: { sinceMs: number; sinceDay: string },
): Promise<{
  finished: { prescriptionId: string; slot: string }[];
  unwell: { patientId: string; slot: string }[];
  breaks: { patientId: string; fromDay: string; untilDay: string | null }[];
}> {
  const finished = await db
    .selectFrom('listened')
    .innerJoin('patient', 'patient.id', 'listened.patientId')
    .select(['listened.prescriptionId', 'listened.slot'])
    .distinct()
    .where('patient.clinicId', '=', clinicId)
    .where('listened.startedAtMs', '>=', sinceMs)
    .where('listened.finishedAtMs', 'is not', null)
    .execute();
  const unwell = await db
    .selectFrom('notToday')
    .innerJoin('patient', 'patient.id', 'notToday.patientId')
    .select(['notToday.patientId', 'notToday.slot'])
    .where('patient.clinicId', '=', clinicId)
    .where('notToday.atMs', '>=', sinceMs)
    .where('notToday.reason', 'in', unwellReasons)
    .execute();
  const breaks = await db
    .selectFrom('careBreak')
    .innerJoin('patient', 'patient.id', 'careBreak.patientId')
    .select(['careBreak.patientId', 'careBreak.fromDay', 'careBreak.untilDay'])
    .where('patient.clinicId', '=', clinicId)
    .where('careBreak.removedAtMs', 'is', null)
    .where(({ eb, or }) =>
      or([eb('careBreak.untilDay', 'is', null), eb('careBreak.untilDay', '>=', sinceDay)]),
    )
    .execute();
  return { finished, unwell, breaks };
}

/** Recent data about some patients, shown with their programs. */
export type RecentAnswers = {
  /** By patient; a patient who is missing has not started anything yet. */
  lastHeardMs: ReadonlyMap<string, number>;
  quietSinceMs: ReadonlyMap<string, number>;
  openWarnings: ReadonlyMap<string, number>;
  adviceWaits: ReadonlyMap<string, AdviceWaits>;
  /** Check-ins for sessions in the week from the first pain answer, or since a day; `answers` is JSON. */
  answers: PeopleAnswer[];
};
export type PeopleAnswer = { patientId: string; slot: string; atMs: number; answers: string };

/**
 * @param patientIds a page of them
 * @param sinceDay the first of the days to include, `YYYY-MM-DD`
 */
export async function readRecentAnswers(
  db: Db,
  patientIds: readonly string[],
  sinceDay: string,
): Promise<RecentAnswers> {
  if (patientIds.length === 0) return noPeople;
  const lastHeard = await db
    .selectFrom('listened')
    .select(['patientId', ({ fn }) => fn.max('startedAtMs').as('atMs')])
    .where('patientId', 'in', patientIds)
    .groupBy('patientId')
    .execute();
  const watched = await db
    .selectFrom('reminderWatch')
    .select(['patientId', 'quietSinceMs'])
    .where('patientId', 'in', patientIds)
    .where('quietSinceMs', 'is not', null)
    .execute();
  const warned = await db
    .selectFrom('warning')
    .leftJoin('warningAnswer', 'warningAnswer.warningId', 'warning.id')
    .select(['warning.patientId', ({ fn }) => fn.count('warning.id').as('count')])
    .where('warning.patientId', 'in', patientIds)
    .where('warningAnswer.warningId', 'is', null)
    .groupBy('warning.patientId')
    .execute();
  const advised = await db
    .selectFrom('adviceWatch')
    .select(['patientId', 'waits'])
    .where('patientId', 'in', patientIds)
    .execute();
  return {
    lastHeardMs: new Map(lastHeard.map(({ patientId, atMs }) => [patientId, atMs])),
    quietSinceMs: new Map(watched.map(({ patientId, quietSinceMs }) => [patientId, quietSinceMs ?? 0])),
    adviceWaits: new Map(
      advised.flatMap(({ patientId, waits }) => (waits === null ? [] : [[patientId, waits]])),
    ),
    openWarnings: new Map(warned.map(({ patientId, count }) => [patientId, Number(count)])),
    answers: await painAnswers(db, patientIds, sinceDay),
  };
}

const noPeople: RecentAnswers = {
  lastHeardMs: new Map(),
  quietSinceMs: new Map(),
  openWarnings: new Map(),
  adviceWaits: new Map(),
  answers: [],
};

/** A slot starts with its day, so slots and days can be compared as text. */
async function painAnswers(db: Db, patientIds: readonly string[], sinceDay: string): Promise<PeopleAnswer[]> {
  const aboutPain = db
    .selectFrom('checkIn')
    .where('patientId', 'in', patientIds)
    .where('answers', 'like', '%"painBefore":%')
    .where('answers', 'not like', '%"painBefore":null%');
  const firsts = await aboutPain
    .select(['patientId', ({ fn }) => fn.min('slot').as('slot')])
    .groupBy('patientId')
    .execute();
  if (firsts.length === 0) return [];
  return aboutPain
    .select(['patientId', 'slot', 'atMs', 'answers'])
    .where(({ or, and, eb }) =>
      or([
        eb('slot', '>=', sinceDay),
        ...firsts.map(({ patientId, slot }) =>
          and([eb('patientId', '=', patientId), eb('slot', '<', dayAfterWeek(slot))]),
        ),
      ]),
    )
    .execute();
}

/** The day after the week that starts with the day of a slot. */
function dayAfterWeek(slot: string): string {
  return new Date(Date.parse(slot.slice(0, 10)) + 7 * dayMs).toISOString().slice(0, 10);
}

/** The latest signed versions, newest first. */
export async function listLastSigned(
  db: Db,
  clinicId: string,
  most: number,
): Promise<
  {
    prescriptionId: string;
    number: number;
    title: string;
    patientName: string;
    reason: string;
    signedByName: string;
    signedAtMs: number;
  }[]
> {
  return db
    .selectFrom('prescriptionVersion')
    .innerJoin('prescription', 'prescription.id', 'prescriptionVersion.prescriptionId')
    .innerJoin('patient', 'patient.id', 'prescription.patientId')
    .innerJoin('clinician', 'clinician.id', 'prescriptionVersion.signedBy')
    .select(['prescription.id as prescriptionId', 'prescriptionVersion.number', 'prescription.title'])
    .select(['patient.name as patientName', 'prescriptionVersion.reason'])
    .select(['clinician.name as signedByName', 'prescriptionVersion.signedAtMs'])
    .where('patient.clinicId', '=', clinicId)
    .orderBy('prescriptionVersion.signedAtMs', 'desc')
    .orderBy('prescription.id')
    .limit(most)
    .execute();
}
