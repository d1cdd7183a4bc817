import { isUnwell } from '../listening/report.js';
import type { AdviceReason, ConditionId } from './adviceParts.js';
import { importantPain } from './course.js';
import type { Outcome } from './history.js';
import { type Check, dayBack, type ProgramFacts, stretchOf } from './programFacts.js';
import type { ProgramNumbers } from './progression.js';
import { riseOnDay, type SessionReport } from './reports.js';

/**
 * Rule ADV-4: very severe pain even once; severe pain before or after sessions, even if it is constant and never rises;
 * and a steep rise within one session. What to do about it is for a clinician to decide, not for a rule.
 */
export function painHighChecks({ reports, others, today }: ProgramFacts, numbers: ProgramNumbers): Check[] {
  const from = dayBack(today, numbers.flareDays.value);
  const recent = [
    ...reports.map((report) => ({ report, mark: report.outcome.slot })),
    ...others.flatMap((other) =>
      other.reports.map((report) => ({ report, mark: `${other.prescriptionId} ${report.outcome.slot}` })),
    ),
  ]
    .filter(({ report }) => report.day >= from)
    .sort((a, b) => a.report.outcome.dueAtMs - b.report.outcome.dueAtMs || (a.mark < b.mark ? -1 : 1));
  const high = numbers.reviewPain.value;
  const severe = numbers.severePain.value;
  const pains = recent.flatMap(({ report }) => [report.painBefore ?? [], report.painAfter ?? []].flat());
  const severest = pains.length === 0 ? null : Math.max(...pains);
  const severeOnes = recent.filter(
    ({ report: { painBefore, painAfter } }) => Math.max(painBefore ?? 0, painAfter ?? 0) >= severe,
  );
  const rises = recent.flatMap(({ report }) => riseOnDay(report) ?? []);
  const rise = rises.length === 0 ? null : Math.max(...rises);
  const steep = numbers.reviewRise.value;
  const steepOnes = recent.filter(({ report }) => (riseOnDay(report) ?? 0) >= steep);
  return [
    {
      why: 'pain-severe',
      mark: lastMark(severeOnes),
      condition: {
        ...{ id: 'severest-pain', found: severest, of: null, wanted: severe, bound: 'most' },
        holds: severest === null || severest < severe,
      },
    },
    highDaysCheck({ why: 'pain-high', id: 'high-pain-days' }, recent, {
      numbers,
      isHigh: ({ painAfter }) => (painAfter ?? 0) >= high,
    }),
    highDaysCheck({ why: 'pain-high-before', id: 'high-pain-before-days' }, recent, {
      numbers,
      isHigh: ({ painBefore }) => (painBefore ?? 0) >= high,
    }),
    {
      why: 'pain-high',
      mark: lastMark(steepOnes),
      condition: {
        ...{ id: 'steepest-rise', found: rise, of: null, wanted: steep, bound: 'most' },
        holds: rise === null || rise < steep,
      },
    },
  ];
}

/** A report, with its key among all programs. */
type Marked = { report: SessionReport; mark: string };

function highDaysCheck(
  { why, id }: { why: AdviceReason; id: ConditionId },
  recent: readonly Marked[],
  { numbers, isHigh }: { numbers: ProgramNumbers; isHigh: (report: SessionReport) => boolean },
): Check {
  const high = recent.filter(({ report }) => isHigh(report));
  const found = new Set(high.map(({ report }) => report.day)).size;
  const most = numbers.flares.value - 1;
  const condition = { id, found, of: null, wanted: most, bound: 'most', holds: found <= most } as const;
  return { why, mark: lastMark(high), condition };
}

/**
 * Sessions that were started but not completed, the last ones in a row: something stops the patient, and more would not
 * help. Sessions missed or skipped in between are ignored.
 */
export function brokenOffCheck({ recent }: ProgramFacts, numbers: ProgramNumbers): Check {
  const started = recent
    .filter(({ kind }) => kind === 'done' || kind === 'partly')
    .sort((a, b) => a.dueAtMs - b.dueAtMs || (a.slot < b.slot ? -1 : 1));
  let found = 0;
  while (found < started.length && started[started.length - 1 - found]?.kind === 'partly') found += 1;
  const most = numbers.brokenOff.value - 1;
  return {
    why: 'broken-off',
    mark: started.at(-1)?.slot ?? '',
    condition: {
      ...{ id: 'broken-off-in-a-row', found, of: null, wanted: most, bound: 'most' },
      holds: found <= most,
    },
  };
}

/** They come oldest first. */
function lastMark(marked: readonly Marked[]): string {
  return marked.at(-1)?.mark ?? '';
}

/**
 * Skipped in pain or unwell on several days. Each such day is excused, but it is an answer without a session in which a
 * rise could show: nothing else would bring it to a clinician's attention.
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

/** Even if nothing was required that day, or something was done after all. */
function isPutOffUnwell({ excuse, putOff }: Outcome): boolean {
  return excuse === 'unwell' || (putOff !== null && isUnwell(putOff));
}

/**
 * More pain than in the first week, by a meaningful amount. It persists, so it is brought up again from time to time.
 */
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
