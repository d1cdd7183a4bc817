import type { Person } from '../clinic/people/people.js';
import type { Timetable } from '../prescription/content.js';
import type { CaregiverDetails } from '../store/people/caregivers.js';
import type { Settled } from '../store/reminding/deliveries.js';
import type { KeptReminderRules } from '../store/reminding/reminderRules.js';
import type { ConsentKind } from '../store/schema/peopleSchema.js';
import type { BreakKind } from '../store/schema/reminderSchema.js';

/**
 * Invented people of an invented clinic, for trying Stillcount out: what was recorded about them over eight
 * weeks. No one here exists.
 */

/** What happened; settlements are made as the rules ask. */
export type Happening =
  | { do: 'screen'; yes: Readonly<Record<string, string>> }
  | {
      do: 'sign';
      /** A starter to begin with; without one, the newest version is changed. */
      starter?: string;
      /** Where the starter leaves the side to be chosen. */
      side?: 'left' | 'right';
      doses?: Readonly<Record<string, Readonly<Record<string, number>>>>;
      add?: readonly string[];
      timesADay?: number;
      weekdayTimes?: Timetable['weekdayTimes'];
      /** After how many days from now it is to be looked at again. */
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
  /** What was measured, by the measure's id or the activity's name, as someone types it. */
  | { do: 'measure'; values: Readonly<Record<string, string>> };

/** How someone listens. */
export type Listens = {
  /** The share of their sessions that they do. */
  keeps: number;
  /** Pain from 0 to 10, at the beginning and now. */
  pain: readonly [number, number];
  /** How hard it is for them, from 0 to 10. */
  effort: number;
};

/** Who was reminded by email; what did not go well, by how many days ago. */
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
