import { z } from 'zod';
import type { Catalogue } from '../catalogue/catalogue.js';
import { type Problem, StillcountError } from '../errors/stillcountError.js';
import { adaptProgram } from '../program/adapt.js';
import type { PrescribedProgram } from '../program/prescribed.js';
import { readKeptProgram, readProgramValue } from '../program/readProgram.js';
import { type Settlements, settlementsSchema } from '../screening/settlements.js';
import { checkedValue } from '../yaml/checkedValue.js';
import { listAppliedAdaptations } from './appliedAdaptations.js';

const timeOfDay = z
  .string()
  .regex(/^([01]\d|2[0-3]):[0-5]\d$/, { error: 'not a time of day such as 08:00 or 17:30' });
const timesOfDay = z
  .array(timeOfDay)
  .max(3)
  .refine((times) => times.every((time, index) => index === 0 || time > (times[index - 1] ?? '')), {
    error: 'times of day must be in order and different',
  });
const day = z.iso.date({ error: 'not a date such as 2026-11-25' }).nullable().default(null);

/** The weekdays, starting on Monday as in ISO 8601. */
export const weekdays = [
  'monday',
  'tuesday',
  'wednesday',
  'thursday',
  'friday',
  'saturday',
  'sunday',
] as const;
export type Weekday = (typeof weekdays)[number];

/** When sessions of a prescription are due. Days are in the patient's zone. */
const timetableShape = {
  timesADay: z.int().min(1).max(3).default(1),
  /** On how many days of a week; the listener chooses among those that have times. */
  daysAWeek: z.int().min(1).max(7).default(7),
  /** `HH:MM` in the patient's zone, one for each session of a day; empty for the default times. */
  timesOfDay: timesOfDay.default([]),
  /** Weekdays with their own times instead, possibly fewer; an empty list for a weekday without a session. */
  weekdayTimes: z.partialRecord(z.enum(weekdays), timesOfDay).default({}),
  /** The first and the last day of the program; null for no limit. */
  startsOn: day,
  endsOn: day,
  /** The review date, from which the clinician is reminded to review the program. */
  reviewOn: day,
};
export type Timetable = z.output<z.ZodObject<typeof timetableShape>>;

/** Reads only the timetable of a version's content, because the whole version was validated when it was signed. */
const timetableSchema = z.object(timetableShape);

const noTimes = Object.fromEntries(weekdays.map((weekday) => [weekday, []]));
/** The timetable of a damaged version: nobody is asked to do something that cannot be read as it was signed. */
const nothingAsked: Timetable = timetableSchema.parse({ weekdayTimes: noTimes });

/**
 * Returns the timetable of a version.
 *
 * @param content JSON text; null for a version that is damaged
 */
export function timetableOf(content: string | null): Timetable {
  return content === null ? nothingAsked : timetableSchema.parse(JSON.parse(content));
}

/**
 * Returns the timetables of the versions in effect since an instant, newest first.
 *
 * @param versions newest first, `content` as for {@link timetableOf}
 */
export function timetablesSince(
  versions: readonly { content: string | null; signedAtMs: number }[],
  sinceMs: number,
): { timetable: Timetable; signedAtMs: number }[] {
  const heldThen = versions.findIndex(({ signedAtMs }) => signedAtMs < sinceMs);
  return versions.slice(0, heldThen < 0 ? versions.length : heldThen + 1).map(({ content, signedAtMs }) => ({
    signedAtMs,
    timetable: timetableOf(content),
  }));
}

/**
 * The easier sessions that the listener can choose on a hard day instead of the full one, which then counts as done.
 */
const easierSchema = z.strictObject({
  shorterMinutes: z
    .int()
    .min(3)
    .max(60)
    .nullable()
    .default(null)
    .describe('Minutes of a shorter session; null for none.'),
  lighter: z.boolean().default(false).describe('Whether there is one with less to do.'),
});
export type Easier = z.output<typeof easierSchema>;

/** The content of one version of a prescription: the program, and how often and when its sessions are due. */
export const prescriptionContentSchema = z.strictObject({
  format: z.literal('stillcount-prescription/1'),
  ...timetableShape,
  easier: easierSchema.prefault({}),
  /** How each precaution that applies to an exercise was settled. */
  settlements: settlementsSchema.default({}),
  /** A program as in a program file; validated against the catalogue when it is read. */
  program: z.unknown(),
});

/** Adds the checks across fields; the API describes the fields one by one. */
const checkedContentSchema = prescriptionContentSchema
  .refine(({ timesADay, timesOfDay: times }) => times.length === 0 || times.length === timesADay, {
    error: 'one time for each session of the day, or none at all for the usual times',
    path: ['timesOfDay'],
  })
  .refine(
    ({ timesADay, weekdayTimes }) => Object.values(weekdayTimes).every((times) => times.length <= timesADay),
    { error: 'no more times than there are sessions a day', path: ['weekdayTimes'] },
  )
  .refine(
    ({ daysAWeek, weekdayTimes }) =>
      weekdays.filter((weekday) => weekdayTimes[weekday]?.length !== 0).length >= daysAWeek,
    { error: 'more days a week than there are weekdays with a session', path: ['daysAWeek'] },
  )
  .refine(({ startsOn, endsOn }) => startsOn === null || endsOn === null || startsOn <= endsOn, {
    error: 'the last day is before the first day',
    path: ['endsOn'],
  });

/** A version as the other rooms use it. */
export type ReadPrescription = Timetable & {
  easier: Easier;
  settlements: Settlements;
  /** The program with its settled precautions applied. */
  program: PrescribedProgram;
};

/**
 * Reads the content of a version, or of a draft.
 *
 * @param place shown in messages in place of a file
 * @throws StillcountError kind `input` listing every problem found
 */
export function readPrescription(
  content: unknown,
  place: string,
  catalogues: ReadonlyMap<string, Catalogue>,
): ReadPrescription {
  const outer = checkedValue(content, place, checkedContentSchema);
  const { program, ...often } = outer;
  const prescribed = readProgramValue(program ?? null, place, catalogues);
  return { ...often, program: adaptProgram(prescribed, listAppliedAdaptations(often.settlements)) };
}

/** A signed version as the current catalogue reads it. */
export type KeptPrescription = {
  /**
   * As much as can be shown; null when the current catalogue cannot read it. A version with problems is never played.
   */
  shown: ReadPrescription | null;
  /** Why it can no longer be played or signed again; empty if it can. */
  problems: readonly Problem[];
};

/**
 * Reads the content of a version that was valid when it was signed. Anything that the catalogue no longer allows, such
 * as an order of exercises that makes someone lie down again, is returned as a problem and not thrown.
 *
 * @param place shown in messages in place of a file
 */
export function readKept(
  content: unknown,
  place: string,
  catalogues: ReadonlyMap<string, Catalogue>,
): KeptPrescription {
  try {
    const { program, ...often } = checkedValue(content, place, checkedContentSchema);
    const storedProgram = readKeptProgram(program ?? null, place, catalogues);
    return {
      shown:
        storedProgram.program === null
          ? null
          : {
              ...often,
              program: adaptProgram(storedProgram.program, listAppliedAdaptations(often.settlements)),
            },
      problems: storedProgram.problems,
    };
  } catch (error) {
    if (!(error instanceof StillcountError) || error.kind !== 'input') throw error;
    return { shown: null, problems: error.problems };
  }
}
