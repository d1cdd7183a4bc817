import type { Catalogue } from '../../../catalogue/catalogue.js';
import { easierLengths } from '../../../clinic/resources/sessionLengths.js';
import { stripSvg } from '../../../documents/strip.js';
import { type Problem, StillcountError } from '../../../errors/stillcountError.js';
import { type ReadPrescription, readPrescription } from '../../../prescription/content.js';
import type { LooseProgram } from '../../../prescription/looseProgram.js';
import { secondsUnderTension } from '../../../script/doseHeard.js';
import { previewScript } from '../../../session/makeSession.js';
import type { Workshop } from '../../../session/workshop.js';
import { lengthInWords } from '../../../text/dates.js';
import type { Words } from '../../../text/words.js';

/** Reads a draft and draws its session, or says what prevents it. */
export async function sessionView(content: unknown, workshop: Workshop, words: Words): Promise<object> {
  try {
    const read = readPrescription(content, 'this program', workshop.catalogues);
    return {
      problems: [],
      ...(await drawing(read, workshop, words)),
      ...(await easierView(read, workshop, words)),
    };
  } catch (error) {
    return { problems: problemsOf(error) };
  }
}

/** A problem with an easier session does not hide the full one. */
async function easierView(read: ReadPrescription, workshop: Workshop, words: Words): Promise<object> {
  try {
    const lengths = await easierLengths(read, workshop);
    return {
      easierSessions: lengths.map(({ choice, durationMs }) => ({
        name: words.easier.sessions[choice],
        length: lengthInWords(durationMs),
      })),
    };
  } catch (error) {
    return { problems: problemsOf(error) };
  }
}

function problemsOf(error: unknown): readonly Problem[] {
  if (error instanceof StillcountError && error.kind === 'input') return error.problems;
  throw error;
}

async function drawing(read: ReadPrescription, workshop: Workshop, words: Words): Promise<object> {
  const { script, estimatedWordings } = await previewScript(read.program, workshop);
  const underTensionSeconds = secondsUnderTension(script);
  const weeklySeconds = underTensionSeconds * read.timesADay * read.daysAWeek;
  const length = lengthInWords(script.durationMs);
  const chapters = script.chapters.map((chapter) => chapter.title).join(', ');
  return {
    strip: stripSvg(script, { title: length, description: chapters, lanes: words.lanes }),
    totals: {
      length,
      underTension: lengthInWords(underTensionSeconds * 1000),
      weekly: lengthInWords(weeklySeconds * 1000),
      estimated: estimatedWordings === 0 ? null : estimatedWordings,
    },
    adjustments: script.adjustments.map(({ text }) => text),
  };
}

/** The same problem with its place as the form names it: the exercise and the field instead of a path. */
export function placedInForm(
  problem: Problem,
  program: LooseProgram,
  catalogue: Catalogue,
  words: Words,
): Problem {
  const { file: _file, path, ...rest } = problem;
  const outside = placeOutside(path ?? '', words);
  if (outside !== undefined) return { ...rest, path: outside };
  const place = placeInList(path);
  const entry = place === null ? undefined : program.exercises[place.index];
  if (place === null || entry === undefined) return path === undefined ? rest : { ...rest, path };
  const name = catalogue.exercises.get(entry.exercise)?.name ?? entry.exercise;
  const { field } = place;
  return { ...rest, path: field === '' ? name : `${name}, ${words.doses[field] ?? field}` };
}

/** The exercise in the list that a problem concerns, and the field; none for the exercise as a whole. */
export function placeInList(path: string | undefined): { index: number; field: string } | null {
  const place = /^exercises[.[](\d+)\]?(?:\.(?:dose\.)?(\w+))?/.exec(path ?? '');
  if (place === null) return null;
  const field = place[2] ?? '';
  return { index: Number(place[1]), field: field === 'exercise' ? '' : field };
}

/** Of the program-wide settings: the timetable, easier options on a hard day, times for position changes. */
function placeOutside(path: string, words: Words): string | undefined {
  const { timetable, weekdays, easier, changeTimes } = words;
  const names: Readonly<Record<string, string>> = {
    ...{ ...timetable, ...weekdays, ...easier.fields, ...changeTimes },
  };
  return names[/^(?:weekdayTimes\.|easier\.|changeTimes\.)?(\w+)/.exec(path)?.[1] ?? ''];
}
