import type { Catalogue } from '../../../catalogue/catalogue.js';
import type { Problem } from '../../../errors/stillcountError.js';
import { type LooseProgram, looseProgram } from '../../../prescription/looseProgram.js';
import {
  type Content,
  clinicCatalogue,
  programFindings,
  readOrNull,
  settlementsOf,
} from '../../../prescription/programFindings.js';
import { resolveSettlements } from '../../../prescription/resolveSettlements.js';
import { pathProblems } from '../../../program/path.js';
import type { ScreeningAnswers } from '../../../screening/answers.js';
import type { ClinicWorkshop } from '../../../session/workshop.js';
import type { Words } from '../../../text/words.js';
import { adaptedView } from './adaptedView.js';
import { catalogueView, type Search } from './catalogueView.js';
import { exerciseView } from './exerciseView.js';
import { exerciseAsWritten, figureView } from './figureView.js';
import { placedInForm, sessionView } from './sessionView.js';
import { settingsView } from './settingsView.js';
import { settlingView } from './settlingView.js';

/** What is shown besides the content itself. */
export type Beside = {
  /** The patient's newest interview, or null before the first. */
  screening: ScreeningAnswers | null;
  search: Search;
  /** The address of the audio, once it has been requested. */
  audio: string | null;
  /** ISO date, in the clinic's zone. */
  today: string;
};

/**
 * Problems in the order of the exercises, if another problem, such as a number out of range, kept it from being
 * checked.
 */
function orderUnseen(
  problems: readonly Problem[],
  program: LooseProgram,
  catalogue: Catalogue,
): readonly Problem[] {
  if (problems.length === 0) return [];
  const known = program.exercises.flatMap(({ exercise }) => catalogue.exercises.get(exercise) ?? []);
  if (known.length !== program.exercises.length) return [];
  return pathProblems(known).filter(({ path }) => !problems.some((each) => each.path === path));
}

/**
 * The part of the prescribing page that changes while she works: its fields as they are, and the session if the draft
 * is valid.
 */
export async function workView(
  content: Content,
  beside: Beside,
  { workshop, words }: { workshop: ClinicWorkshop; words: Words },
): Promise<object> {
  const catalogue = clinicCatalogue(workshop);
  const program = looseProgram(content.program);
  const isEmpty = program.exercises.length === 0;
  const signed = resolveSettlements(content, beside.screening, workshop, beside.today);
  const prescribed = readOrNull(signed, workshop)?.program ?? null;
  const session: { problems?: readonly Problem[] } = isEmpty
    ? {}
    : await sessionView(signed, workshop, words);
  const found = [...(session.problems ?? []), ...orderUnseen(session.problems ?? [], program, catalogue)];
  const problems = found.map((each) => placedInForm(each, program, catalogue, words));
  const answers = beside.screening ?? {};
  const findings = programFindings(content, answers, workshop);
  return {
    ...session,
    problems,
    hasProblems: problems.length > 0,
    audio: beside.audio,
    isScreened: beside.screening !== null,
    ...settlingView(findings, settlementsOf(content), beside.today, {
      catalogue,
      words,
      program: prescribed,
    }),
    exercises: program.exercises.map((entry, index) => {
      const [read] = (prescribed?.exercises ?? []).filter((each) => each.index === index);
      return {
        ...exerciseView(entry, index, { catalogue, findings, words, problems: found }),
        ...figureView(read ?? exerciseAsWritten(entry, program, catalogue), catalogue, words),
        adapted: read === undefined ? [] : adaptedView(read),
      };
    }),
    hasExercises: !isEmpty,
    ...catalogueView(beside.search, catalogue, { answers, interview: workshop.interview }, words),
    ...settingsView(program, content, { words, problems: found }),
  };
}
