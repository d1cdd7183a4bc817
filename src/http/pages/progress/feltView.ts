import { speak } from '../../../catalogue/template.js';
import { levelView, painStandingView } from '../../../documents/painView.js';
import { linePicture } from '../../../documents/pictures/linePicture.js';
import {
  baselineOf,
  type Course,
  courseOf,
  levelAt,
  type Point,
  painStandingOn,
  unchangedBand,
} from '../../../followup/course.js';
import type { History } from '../../../followup/history.js';
import { isoDayIn } from '../../../schedule/wallClock.js';
import { dateInWords } from '../../../text/dates.js';
import type { HttpResources } from '../../server/resources.js';
import { type Days, daysView } from './doneView.js';

/** How sessions felt: the change since the first week, and pain and effort over days with their tables. */
export function feltView(
  { pages, words }: Pick<HttpResources, 'pages' | 'words'>,
  history: History,
  days: Days,
): object {
  const { followUp } = words;
  const whole = courseOf(history.programs.flatMap(({ outcomes }) => outcomes));
  const within = (points: readonly Point[]) =>
    points.filter(({ day }) => day >= days.from && day <= days.until);
  const shown: Course = {
    painBefore: within(whole.painBefore),
    painAfter: within(whole.painAfter),
    effort: within(whole.effort),
  };
  const baseline = baselineOf(whole.painBefore);
  const standing = painStandingView(painStandingOn(whole.painBefore, days.until));
  const effortNow = levelAt(whole.effort, days.until);
  const about = { days: daysView(days), ...standing, effort: effortNow };
  const drawn = {
    valueDomain: { from: 0, to: 10 },
    dayDomain: { from: days.from, to: days.until },
    marks: marksOf(history, days, followUp),
    nothing: followUp.nothingAnswered,
    size: 'large' as const,
  };
  const rows = answerRows(shown);
  return {
    ...standing,
    effortNow: effortNow === null ? null : levelView(effortNow),
    baseline: baseline === null ? null : levelView(baseline),
    hasAnswers: rows.length > 0,
    painPicture: linePicture({
      ...drawn,
      title: followUp.painTitle,
      description: pages.part('follow-up-pain-about', about).trim(),
      series: [
        { name: followUp.painBefore, values: shown.painBefore },
        { name: followUp.painAfter, values: shown.painAfter },
      ],
      ...(baseline === null ? {} : { band: { ...unchangedBand(baseline), name: followUp.unchangedBand } }),
    }),
    effortPicture: linePicture({
      ...drawn,
      title: followUp.effortTitle,
      description: pages.part('follow-up-effort-about', about).trim(),
      series: [{ name: followUp.effort, values: shown.effort }],
    }),
    answers: rows,
  };
}

function marksOf(
  { programs, zone }: History,
  { from, until }: Days,
  followUp: HttpResources['words']['followUp'],
) {
  // The history of each program contains all warnings; each is counted once.
  const warned = new Set(programs.flatMap(({ warnings }) => warnings.map(({ atMs }) => atMs)));
  const changes = programs.flatMap(({ title, versions }) =>
    versions.map(({ number, signedAtMs }) => ({
      day: isoDayIn(signedAtMs, zone),
      name: `${speak(followUp.version, { number: String(number) })}${programs.length > 1 ? `, ${title}` : ''}`,
    })),
  );
  const warnings = [...warned].map((atMs) => ({ day: isoDayIn(atMs, zone), name: followUp.warning }));
  return [...changes, ...warnings].filter(({ day }) => day >= from && day <= until);
}

/** The answers of each day, newest first; several answers on a day are shown side by side. */
function answerRows({ painBefore, painAfter, effort }: Course): object[] {
  const days = [...new Set([...painBefore, ...painAfter, ...effort].map(({ day }) => day))].sort().reverse();
  const valuesOf = (points: readonly Point[]) => {
    const byDay = new Map<string, number[]>();
    for (const { day, value } of points) byDay.set(day, [...(byDay.get(day) ?? []), value]);
    return byDay;
  };
  const [before, after, efforts] = [valuesOf(painBefore), valuesOf(painAfter), valuesOf(effort)];
  const worded = (values: readonly number[] | undefined) => values?.join(', ') ?? '';
  return days.map((day) => ({
    day: dateInWords(day),
    painBefore: worded(before.get(day)),
    painAfter: worded(after.get(day)),
    effort: worded(efforts.get(day)),
  }));
}
