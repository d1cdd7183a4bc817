import type { Person } from '../clinic/people/people.js';
import type { Timetable } from '../prescription/content.js';
import type { CaregiverDetails } from '../store/people/caregivers.js';
import type { Settled } from '../store/reminding/deliveries.js';
import type { KeptReminderRules } from '../store/reminding/reminderRules.js';
import type { ConsentKind } from '../store/schema/peopleSchema.js';
import type { BreakKind } from '../store/schema/reminderSchema.js';

/**
 * Invented people of an invented clinic, for trying out Stillcount: what was recorded about them over eight weeks. None
 * of them exist.
 */

/** One event in a person's history; precautions are resolved as the rules ask. */
export type Happening =
  | { do: 'screen'; yes: Readonly<Record<string, string>> }
  | {
      do: 'sign';
      /** The starter to start from; without one, the newest version is changed. */
      starter?: string;
      /** The side, if the starter leaves it open. */
      side?: 'left' | 'right';
      doses?: Readonly<Record<string, Readonly<Record<string, number>>>>;
      add?: readonly string[];
      timesADay?: number;
      weekdayTimes?: Timetable['weekdayTimes'];
      /** The review date, in days from now. */
      reviewInDays?: number;
      reason: string;
    }
  | { do: 'paused' | 'active' | 'ended'; reason: string }
  | { do: 'caregiver'; details: CaregiverDetails; agreedTo: readonly ConsentKind[] }
  | { do: 'consent'; kind: ConsentKind; isGiven: boolean; note: string }
  | { do: 'agree'; rules: KeptReminderRules }
  | { do: 'break'; kind: BreakKind; fromDaysAgo: number; days: number; note: string }
  | { do: 'keep'; title: string }
  | { do: 'activity'; name: string }
  /** Measurements as someone types them, by the measure's id or the activity's name. */
  | { do: 'measure'; values: Readonly<Record<string, string>> };

/** How a person listens. */
export type Listens = {
  /** The share of scheduled sessions that they do. */
  keeps: number;
  /** Pain from 0 to 10, at the beginning and now. */
  pain: readonly [number, number];
  /** How hard the sessions are for them, from 0 to 10. */
  effort: number;
};

/** Who was reminded by email, and the failures by how many days ago they happened. */
export type Reminded = {
  troubles: Readonly<Record<number, Partial<Pick<Settled, 'state' | 'why' | 'isLate'>>>>;
};

/** One person: who they are, what happened how many days ago, and how they listen, if they do. */
export type Story = {
  person: Pick<Person, 'name' | 'zone'> & Partial<Person>;
  days: readonly (readonly [number, ...Happening[]])[];
  listens?: Listens;
  reminded?: Reminded;
};
