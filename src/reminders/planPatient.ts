import { timetablesSince } from '../prescription/content.js';
import { quietSince } from '../schedule/quiet.js';
import { isFor } from '../schedule/recipients.js';
import { type ReminderRules, remindersOf, usualReminderRules } from '../schedule/reminders.js';
import { type Rhythm, rhythmOf, type Slot, slotsOf, weekdaysOffered } from '../schedule/slots.js';
import { addDays, isoDayIn, startOfDayMs } from '../schedule/wallClock.js';
import {
  findUnplayable,
  lockPatient,
  openWarningSince,
  refreshAttention,
} from '../store/attention/patientChanged.js';
import { claimPlanning, savePlanning, type Watched } from '../store/attention/reminderWatch.js';
import type { Damage } from '../store/attention/signed.js';
import type { Db } from '../store/engine/openStore.js';
import { answeredSlots, warningsAnsweredAt } from '../store/listening/listeningRecords.js';
import {
  type ActiveProgram,
  activeProgramsOf,
  breaksOf,
  listUnplayablePeriods,
  patientById,
  versionsOf,
} from '../store/people/chart.js';
import { saveUnplayable } from '../store/prescribing/notPlayed.js';
import { type NewDelivery, replaceReminders } from '../store/reminding/deliveries.js';
import { reminderRulesOf } from '../store/reminding/reminderRules.js';
import { hourMs } from '../time/units.js';
import { type Recipient, recipientsOf } from './recipients.js';
import type { ReminderSecrets } from './secrets.js';

/** How far ahead reminders are planned; a patient is planned again long before. */
const horizonMs = 36 * hourMs;
const againAfterMs = 5 * hourMs;
/** Spreads the patients, so that they do not all come up at the same time again. */
const spreadMs = 2 * hourMs;
/** The longest interval between two plannings of one patient. */
export const longestPlanMs = againAfterMs + spreadMs;
/** If the service was down for longer, earlier reminders are not even recorded as missed. */
const longestLookBackMs = 7 * 24 * hourMs;
const answeredLookBackMs = 29 * 24 * hourMs;

/** A program with the days of its sessions. */
type Planned = ActiveProgram & {
  rhythm: Rhythm;
  reviewOn: string | null;
  isPlayable: boolean;
  /** When it became playable again; 0 if it always was. */
  playableSinceMs: number;
};

/**
 * Plans the reminders of one patient for the next day and a half, and checks what changes only with time: whether the
 * patient has become inactive, and which program is due for review. Runs in a transaction.
 *
 * @param isShared whether other processes plan at the same time
 * @param onDamaged called if a program is found to be damaged: it gets no reminders
 * @returns false if there is nothing to plan, or another process is planning it
 */
export async function planPatient(
  db: Db,
  { patientId, nowMs, isShared }: { patientId: string; nowMs: number; isShared: boolean },
  secrets: ReminderSecrets,
  onDamaged: (damage: Damage, patientId: string) => void = () => undefined,
): Promise<boolean> {
  // Everyone locks the patient first, and then what belongs to them.
  await lockPatient(db, patientId);
  const watched = await claimPlanning(db, patientId, { nowMs, isShared });
  if (watched === null) return false;
  const patient = await patientById(db, watched.clinicId, patientId);
  if (patient === null) return false;
  const { clinicId } = watched;
  const { zone } = patient;
  const rules = (await reminderRulesOf(db, patientId)) ?? usualReminderRules;
  const recipients = await recipientsOf(db, { clinicId, patient, nowMs }, secrets);
  const breaks = await breaksOf(db, patientId);
  const notPlayable = await listUnplayablePeriods(db, patientId);
  const programs: Planned[] = [];
  for (const program of await activeProgramsOf(db, patientId)) {
    const timetables = await timetablesOf(db, program, nowMs - longestLookBackMs - 3 * 24 * hourMs);
    const rhythm = rhythmOf(timetables, { zone, breaks });
    const reviewOn = timetables[0]?.timetable.reviewOn ?? null;
    const stretches = notPlayable.get(program.id) ?? [];
    const isNoted = stretches.some(({ untilMs }) => untilMs === null);
    const { damage } = program;
    if (damage !== null && !isNoted) {
      await noteDamaged(db, { patientId, prescriptionId: program.id, nowMs });
      onDamaged(damage, patientId);
    }
    const isPlayable = damage === null && !isNoted;
    const playableSinceMs = Math.max(0, ...stretches.map(({ untilMs }) => untilMs ?? 0));
    if (rhythm !== null) programs.push({ ...program, reviewOn, rhythm, isPlayable, playableSinceMs });
  }
  const isHeld = (await openWarningSince(db, patientId)) !== null;
  const playable = programs.filter(({ isPlayable }) => isPlayable);
  // Rule WARN-7: reminders stop while a warning sign is open.
  const going = isHeld ? [] : playable;
  const sinceMs = addedSince(going, { recipients, watched, nowMs });
  const planned = going.flatMap((program) =>
    planProgram(program, { watched, rules, recipients, nowMs, sinceMs }),
  );
  const heldUntilMs = await warningsAnsweredAt(db, patientId);
  const askedFromMs = new Map(
    going.map(({ id, signedAtMs, playableSinceMs }) => [
      id,
      Math.max(signedAtMs, playableSinceMs, heldUntilMs),
    ]),
  );
  const added = planned.filter(
    ({ forAtMs, slotDueAtMs, prescriptionId, caregiverId }) =>
      forAtMs >= sinceMs(prescriptionId, caregiverId) &&
      // Slots from before the signature, or while the program could not be played or was held by a warning sign, are
      // skipped.
      (slotDueAtMs ?? 0) >= (askedFromMs.get(prescriptionId ?? '') ?? 0),
  );
  await replaceReminders(db, patientId, planned, { added, nowMs });
  const answered = await answeredSlots(db, patientId, nowMs - answeredLookBackMs);
  await savePlanning(db, patientId, {
    planAtMs: nowMs + againAfterMs + spreadOf(patientId),
    plannedUntilMs: nowMs + horizonMs,
    nextDueAtMs: nextDueOf(going, nowMs),
    quietSinceMs: isHeld ? null : quietSinceOf(playable, { answered, rules, zone, nowMs }),
    reviewSinceMs: reviewSinceOf(programs, zone, nowMs),
  });
  await refreshAttention(db, patientId);
  return true;
}

/** The listening page and the home page say so from now on. */
async function noteDamaged(
  db: Db,
  { patientId, prescriptionId, nowMs }: { patientId: string; prescriptionId: string; nowMs: number },
): Promise<void> {
  const known = await findUnplayable(db, [patientId]);
  await saveUnplayable(db, patientId, { prescriptionIds: [...known.keys(), prescriptionId], nowMs });
}

type AddedSince = (prescriptionId: string | null, caregiverId: string | null) => number;

/**
 * The time from which missing reminders are added: what fell due while the service was down is sent late or recorded as
 * missed, never absent. It is the last plan; or, if a program was signed or resumed, or reminders were agreed to, after
 * that and has not been planned since, the time of that.
 */
function addedSince(
  programs: readonly Planned[],
  { recipients, watched, nowMs }: { recipients: readonly Recipient[]; watched: Watched; nowMs: number },
): AddedSince {
  const { plannedUntilMs } = watched;
  const lastPlannedMs = plannedUntilMs === null ? Number.NEGATIVE_INFINITY : plannedUntilMs - horizonMs;
  const usualMs = plannedUntilMs === null ? nowMs : Math.min(nowMs, plannedUntilMs);
  const runningMs = new Map(
    programs.map(({ id, signedAtMs, changedAtMs }) => [id, Math.max(signedAtMs, changedAtMs ?? 0)]),
  );
  const agreedMs = new Map(recipients.map(({ caregiverId, agreedAtMs }) => [caregiverId, agreedAtMs]));
  return (prescriptionId, caregiverId) => {
    const wantedMs = Math.max(
      runningMs.get(prescriptionId ?? '') ?? nowMs,
      agreedMs.get(caregiverId) ?? nowMs,
    );
    // A clock that was ahead in the meantime does not shorten this.
    const sinceMs = wantedMs >= lastPlannedMs ? Math.min(wantedMs, usualMs) : usualMs;
    return Math.max(sinceMs, nowMs - longestLookBackMs);
  };
}

/** Most programs were changed long ago, and then only the newest version matters. */
async function timetablesOf(db: Db, { id, content, signedAtMs }: ActiveProgram, sinceMs: number) {
  const versions = signedAtMs < sinceMs ? [{ content, signedAtMs }] : await versionsOf(db, id);
  return timetablesSince(versions, sinceMs);
}

function planProgram(
  { id: prescriptionId, rhythm }: Planned,
  {
    watched: { clinicId, patientId },
    rules,
    recipients,
    nowMs,
    sinceMs,
  }: {
    watched: Watched;
    rules: ReminderRules;
    recipients: readonly Recipient[];
    nowMs: number;
    sinceMs: AddedSince;
  },
): NewDelivery[] {
  const earliestMs = Math.min(nowMs, ...recipients.map((each) => sinceMs(prescriptionId, each.caregiverId)));
  const fromMs = Math.max(earliestMs - 24 * hourMs, nowMs - longestLookBackMs);
  const untilMs = nowMs + horizonMs;
  const slots = slotsBetween(rhythm, fromMs - 24 * hourMs, untilMs);
  return remindersOf(slots, rules, rhythm.zone)
    .filter(({ forAtMs }) => forAtMs >= fromMs && forAtMs < untilMs)
    .flatMap(({ kind, slot, slotDueAtMs, forAtMs, sendAtMs, goodUntilMs }) =>
      recipients
        .filter(({ caregiverId, ...agreed }) => isFor(kind, { isPatient: caregiverId === null, ...agreed }))
        .flatMap(({ caregiverId, contactIds }) =>
          contactIds.map((contactId) => ({
            key: `${kind} ${prescriptionId} ${slot} ${contactId}`,
            ...{ clinicId, patientId, kind, prescriptionId, slot, slotDueAtMs, contactId, caregiverId },
            ...{ subject: null, forAtMs, nextAtMs: sendAtMs ?? forAtMs, goodUntilMs },
          })),
        ),
    );
}

function slotsBetween(rhythm: Rhythm, fromMs: number, untilMs: number): Slot[] {
  const slots: Slot[] = [];
  const last = isoDayIn(untilMs, rhythm.zone);
  for (let day = isoDayIn(fromMs, rhythm.zone); day <= last; day = addDays(day, 1)) {
    slots.push(...slotsOf(rhythm, day));
  }
  return slots;
}

function nextDueOf(programs: readonly Planned[], nowMs: number): number | null {
  const due = programs
    .flatMap(({ rhythm }) => slotsBetween(rhythm, nowMs, nowMs + horizonMs))
    .map(({ dueAtMs }) => dueAtMs)
    .filter((dueAtMs) => dueAtMs > nowMs);
  return due.length === 0 ? null : Math.min(...due);
}

function quietSinceOf(
  programs: readonly Planned[],
  {
    answered,
    rules: { quietAfterDays },
    zone,
    nowMs,
  }: { answered: ReadonlySet<string>; rules: ReminderRules; zone: string; nowMs: number },
): number | null {
  if (programs.length === 0) return null;
  return quietSince({
    slotsOn: (day) => programs.reduce((sum, { rhythm }) => sum + slotsOf(rhythm, day).length, 0),
    answeredDays: new Set([...answered].map((slot) => slot.slice(0, 10))),
    afterDays: quietAfterDays,
    freeDays: Math.min(...programs.map(({ rhythm }) => freeDaysOf(rhythm))),
    // The clinician has reviewed it by then.
    sinceMs: Math.max(
      ...programs.map(({ signedAtMs, changedAtMs, playableSinceMs }) =>
        Math.max(signedAtMs, changedAtMs ?? 0, playableSinceMs),
      ),
    ),
    ...{ nowMs, zone },
  });
}

/** The days of a week with a session that the listener may leave free. */
function freeDaysOf(rhythm: Rhythm): number {
  return Math.max(0, weekdaysOffered(rhythm).length - rhythm.daysAWeek);
}

/** The first moment of the first day on which a program is due for review. */
function reviewSinceOf(programs: readonly Planned[], zone: string, nowMs: number): number | null {
  const today = isoDayIn(nowMs, zone);
  const days = programs
    .flatMap(({ reviewOn, rhythm: { endsOn } }) => [reviewOn, endsOn === null ? null : addDays(endsOn, 1)])
    .filter((day) => day !== null && day <= today);
  const [first] = days.sort();
  return first == null ? null : startOfDayMs(first, zone);
}

function spreadOf(patientId: string): number {
  return Math.round((Number.parseInt(patientId.slice(0, 6), 16) / 0xffffff) * spreadMs);
}
