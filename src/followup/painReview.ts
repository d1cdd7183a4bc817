import { isUnwell } from '../listening/report.js';
import { importantPain } from './course.js';
import type { Outcome } from './history.js';
import { type Check, dayBack, type ProgramFacts, stretchOf } from './programFacts.js';
import type { ProgramNumbers } from './progression.js';
import { riseOnDay, type SessionReport } from './reports.js';

/**
 * Much pain after sessions, even if it is always there and never rises; and a steep rise within one session. What to do
 * about either is for a clinician to say, not for a rule.
 */
export function painHighChecks({ reports, today }: ProgramFacts, numbers: ProgramNumbers): Check[] {
  const from = dayBack(today, numbers.flareDays.value);
  const lately = reports.filter(({ day }) => day >= from);
  const high = lately.filter(({ painAfter }) => (painAfter ?? 0) >= numbers.reviewPain.value);
  const days = new Set(high.map(({ day }) => day)).size;
  const mostDays = numbers.flares.value - 1;
  const rises = lately.flatMap((report) => riseOnDay(report) ?? []);
  const rise = rises.length === 0 ? null : Math.max(...rises);
  const steep = numbers.reviewRise.value;
  const steepOnes = lately.filter((report) => (riseOnDay(report) ?? 0) >= steep);
  return [
    {
      why: 'pain-high',
      mark: lastSlot(high),
      condition: {
        ...{ id: 'high-pain-days', found: days, of: null, wanted: mostDays, bound: 'most' },
        holds: days <= mostDays,
      },
    },
    {
      why: 'pain-high',
      mark: lastSlot(steepOnes),
      condition: {
        ...{ id: 'steepest-rise', found: rise, of: null, wanted: steep, bound: 'most' },
        holds: rise === null || rise < steep,
      },
    },
  ];
}

/** Reports come oldest first. */
function lastSlot(reports: readonly SessionReport[]): string {
  return reports.at(-1)?.outcome.slot ?? '';
}

/**
 * Put off in pain or unwell on several days. Each such day is excused, and an answer, and no session to see a rise in:
 * nothing else would tell a clinician of it.
 */
export function putOffCheck({ program, today }: ProgramFacts, numbers: ProgramNumbers): Check {
  const from = dayBack(today, numbers.unwellDays.value);
  const putOff = program.outcomes.filter((outcome) => outcome.day >= from && isPutOffUnwell(outcome));
  const found = new Set(putOff.map(({ day }) => day)).size;
  const most = numbers.unwellTimes.value - 1;
  const slots = putOff.map(({ slot }) => slot).sort();
  return {
    why: 'put-off-unwell',
    mark: slots.at(-1) ?? '',
    condition: {
      ...{ id: 'unwell-days', found, of: null, wanted: most, bound: 'most' },
      holds: found <= most,
    },
  };
}

/** Even where nothing was wanted that day, or something was done after all. */
function isPutOffUnwell({ excuse, putOff }: Outcome): boolean {
  return excuse === 'unwell' || (putOff !== null && isUnwell(putOff));
}

/** More pain than in the first week, by a size that counts. It lasts, so that it is asked again from time to time. */
export function painWorseChecks({ pain, today }: ProgramFacts, numbers: ProgramNumbers): Check[] {
  if (pain === null) return [];
  return [
    {
      why: 'pain-worse',
      mark: stretchOf(today, numbers.askAgainDays.value),
      condition: {
        ...{ id: 'pain-since-begin', found: pain.points, of: null, bound: 'most' },
        wanted: importantPain.points,
        holds: pain.kind !== 'more',
      },
    },
  ];
}
