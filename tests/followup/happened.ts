import type { Happened, PutOff, SlotCheckIn } from '../../src/followup/outcomes.js';
import type { Listened } from '../../src/listening/listened.js';
import type { CheckInAnswers, NotTodayReason } from '../../src/listening/report.js';
import { occurrencesOf, type PlanHistory } from '../../src/schedule/calendar.js';
import { slotsOf } from '../../src/schedule/slots.js';
import { addDays, isoDayIn, startOfDayMs } from '../../src/schedule/wallClock.js';

export const zone = 'Europe/Vienna';
/** A Thursday, so that weeks can be counted in. */
export const nowMs = Date.UTC(2026, 10, 26, 14);
export const today = isoDayIn(nowMs, zone);
const sessionMs = 600_000;
/** Of a session that was chosen shorter. */
const shorter = { durationMs: 200_000, exerciseEndsMs: [] };
export const dayAgo = (days: number) => addDays(today, -days);
export const slotAgo = (days: number, index = 1) => `${dayAgo(days)}#${index}`;
export const at = (day: string, hours: number) => startOfDayMs(day, zone) + hours * 3_600_000;

const timetable = {
  timesADay: 1,
  daysAWeek: 7,
  timesOfDay: [],
  weekdayTimes: {},
  startsOn: null,
  endsOn: null,
  reviewOn: null,
};
type Timetable = PlanHistory['versions'][number]['timetable'];

/** What happened with one program, written down by days and told in a few words. */
export class Life {
  readonly listened: Listened[] = [];
  readonly checkIns: SlotCheckIn[] = [];
  readonly putOff: PutOff[] = [];
  readonly fetched = new Set<string>();
  readonly plan: {
    -readonly [Key in keyof PlanHistory]: PlanHistory[Key] extends readonly (infer Item)[]
      ? Item[]
      : PlanHistory[Key];
  };

  /** @param daysAgo when the first version was signed: at midnight of that day */
  constructor(daysAgo: number, change: Partial<Timetable> = {}) {
    this.plan = {
      ...{ prescriptionId: 'p', zone, zoneRevision: 1, versions: [], states: [], breaks: [], holds: [] },
    };
    this.sign(at(addDays(today, -daysAgo), 0), change);
  }

  sign(signedAtMs: number, change: Partial<Timetable> = {}): this {
    const number = this.plan.versions.length + 1;
    this.plan.versions.push({ number, signedAtMs, timetable: { ...timetable, ...change } });
    return this;
  }

  /** @param heardPart how much of the session was heard; 1 is to its end */
  listen(slot: string, heardPart: number, more: Partial<Listened> = {}): this {
    const startedAtMs = more.startedAtMs ?? at(slot.slice(0, 10), 9) + Number(slot.slice(-1)) * 3_600_000;
    const heardMs = heardPart * sessionMs;
    const isAll = heardPart === 1;
    this.listened.push({
      ...{ listeningId: `l${this.listened.length}`, prescriptionId: 'p', versionNumber: 1, sessionNumber: 1 },
      ...{ slot, startedAtMs, lastAtMs: startedAtMs + heardMs, heardMs, reachedMs: heardMs },
      finishedAtMs: isAll ? startedAtMs + heardMs : null,
      stoppedAtMs: isAll ? null : startedAtMs + heardMs,
      ...{ pauseCount: 0, pausedMs: 0, caregiverId: null, choice: null },
      ...more,
    });
    return this;
  }

  say(slot: string, answers: CheckInAnswers, more: Partial<SlotCheckIn> = {}): this {
    this.checkIns.push({
      ...{ id: `c${this.checkIns.length}`, slot, versionNumber: 1, caregiverId: null, answers },
      atMs: at(slot.slice(0, 10), 12),
      ...more,
    });
    return this;
  }

  notToday(slot: string, reason: NotTodayReason, prescriptionId = 'p'): this {
    const atMs = at(slot.slice(0, 10), 8);
    this.putOff.push({ id: `n${this.putOff.length}`, prescriptionId, slot, reason, atMs });
    return this;
  }

  /** The slots of one day. */
  slots(day: string, index = 0): string[] {
    const version = this.plan.versions[index];
    if (version === undefined) throw new RangeError('there is such a version');
    return slotsOf({ ...version.timetable, zone, breaks: [] }, day).map(({ slot }) => slot);
  }

  get happened(): Happened {
    return {
      ...{ prescriptionId: 'p', zone, nowMs },
      occurrences: occurrencesOf(this.plan, nowMs, { backDays: 60, aheadDays: 6 }),
      versions: this.plan.versions.map(({ number }) => ({
        number,
        durationMs: sessionMs,
        easier: { shorter },
      })),
      listened: this.listened,
      checkIns: this.checkIns,
      putOff: this.putOff,
      fetchedSlots: this.fetched,
    };
  }
}
