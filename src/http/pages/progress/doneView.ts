import { shareView } from '../../../documents/noteProgram.js';
import { strip } from '../../../documents/pictures/strip.js';
import { byDay, byExercise, byPartOfDay, byWeek, type Tally, tallyOf } from '../../../followup/adherence.js';
import type { Outcome, ProgramHistory } from '../../../followup/history.js';
import { addDays, mondayOf } from '../../../schedule/wallClock.js';
import { dateInWords } from '../../../text/dates.js';
import type { HttpResources } from '../../server/resources.js';

/** A period of days, both inclusive, ISO. */
export type Days = { from: string; until: string };

/** Adherence to a program: its strip, weeks, exercises and times of day. */
export function doneView(
  { pages, words }: Pick<HttpResources, 'pages' | 'words'>,
  program: ProgramHistory,
  { outcomes, days, zone }: { outcomes: readonly Outcome[]; days: Days; zone: string },
): object {
  const { followUp } = words;
  const tally = tallyOf(outcomes);
  const title = `${followUp.stripTitle}: ${program.title}`;
  const description = pages
    .part('follow-up-strip-about', { ...tallyView(tally), days: daysView(days) })
    .trim();
  const nothing = followUp.nothingDue;
  const exercises = byExercise(program, outcomes).filter(({ wanted }) => wanted > 0);
  const parts = byPartOfDay(outcomes, zone).filter(({ tally: { wanted } }) => wanted > 0);
  return {
    id: program.prescriptionId,
    title: program.title,
    stateWords: words.prescriptionStates[program.state],
    ...tallyView(tally),
    strip: strip({
      ...{ title, description, nothing, names: followUp.outcomes },
      days: outcomes.length === 0 ? [] : stripDays(outcomes, days),
    }),
    weeks: byWeek(outcomes)
      .reverse()
      .map((week) => ({ monday: dateInWords(week.monday), ...tallyView(week.tally) })),
    hasExercises: exercises.length > 0,
    exercises: exercises.map(({ name, wanted, reached, share }) => ({
      name,
      wanted,
      reached,
      share: shareView(share),
    })),
    hasParts: parts.length > 1,
    parts: parts.map(({ part, tally: own }) => ({ name: followUp.partsOfDay[part], ...tallyView(own) })),
  };
}

/** Starting on a Monday, so that weeks line up. */
function stripDays(outcomes: readonly Outcome[], { from, until }: Days) {
  const known = new Map(byDay(outcomes));
  const days: { day: string; outcomes: Outcome['kind'][] }[] = [];
  for (let day = mondayOf(from); day <= until; day = addDays(day, 1)) {
    days.push({ day, outcomes: (known.get(day) ?? []).map(({ kind }) => kind) });
  }
  return days;
}

/** A tally with its share, ready for the template. */
export function tallyView({ share, ...counts }: Tally): Omit<Tally, 'share'> & { share: object | null } {
  return { ...counts, share: shareView(share) };
}

export function daysView({ from, until }: Days): { from: string; until: string } {
  return { from: dateInWords(from), until: dateInWords(until) };
}
