import { type Problem, StillcountError } from '../../errors/stillcountError.js';
import {
  answerKinds,
  type ScreeningAnswer,
  type ScreeningAnswers,
  screeningAnswersSchema,
} from '../../screening/answers.js';
import { requireMayWrite } from '../acts/actor.js';
import { patientAtWork, readPatient } from '../acts/records.js';
import { screeningOf, takeScreening } from '../acts/screening.js';
import { type Fields, field, treeOf } from '../forms/fields.js';
import { parsedForm } from '../forms/values.js';
import { dayInWords } from '../forms/words.js';
import { type Answer, type MemberVisit, Routes } from '../routing.js';
import type { Service } from '../service.js';

type Shown = Readonly<Record<string, { answer?: unknown; details?: unknown } | undefined>>;

/** The precaution interview, asked before a program and again whenever something has changed. */
export function screeningRoutes(service: Service): Routes {
  const { store, workshop, words } = service;
  const { precautions } = workshop.interview;

  async function page(
    visit: MemberVisit,
    patient: { id: string; name: string },
    answers: Shown,
    problems: readonly Problem[] = [],
  ): Promise<Answer> {
    const last = await store.read((db) => screeningOf(db, patient.id));
    const lastWhen = last === null ? null : dayInWords(last.atMs, visit.clinician.clinicZone);
    return {
      kind: 'page',
      page: 'screening',
      title: `Screening of ${patient.name}`,
      status: problems.length === 0 ? 200 : 400,
      view: {
        patient,
        problems,
        hasProblems: problems.length > 0,
        lastWhen,
        questions: precautions.map(({ id, name, ask, help, askAlone, needsDetails }) => ({
          id,
          name,
          ask,
          help,
          askAlone,
          needsDetails,
          // Said again, not ticked again: what held then need not hold now.
          last: lastAnswer(last?.answers[id]),
          details: answers[id]?.details ?? '',
          choices: answerKinds.map((kind) => ({
            kind,
            words: words.answers[kind],
            checked: answers[id]?.answer === kind,
          })),
        })),
      },
    };
  }

  function lastAnswer(answer: ScreeningAnswer | undefined): object | null {
    return answer === undefined ? null : { words: words.answers[answer.answer], details: answer.details };
  }

  return new Routes(service)
    .member('get', '/patients/:id/screening', async (visit) => {
      requireMayWrite(visit);
      const patient = await readPatient(service, visit, visit.params.id ?? '');
      return page(visit, patient, {});
    })
    .member('post', '/patients/:id/screening', async (visit) => {
      requireMayWrite(visit);
      const patient = await patientAtWork(service, visit, visit.params.id ?? '');
      const given = answersOf(visit.fields);
      if (field(visit.fields, 'do') === 'rest-no') {
        const open = precautions.filter(({ id, askAlone }) => !askAlone && given[id]?.answer === undefined);
        const no = Object.fromEntries(open.map(({ id }) => [id, { ...given[id], answer: 'no' }]));
        return page(visit, patient, { ...given, ...no });
      }
      try {
        const answers: ScreeningAnswers = parsedForm(screeningAnswersSchema, answered(given));
        await takeScreening(service, visit, { patientId: patient.id, answers });
      } catch (error) {
        if (error instanceof StillcountError && error.kind === 'input') {
          return page(visit, patient, given, error.problems.map(withoutPath));
        }
        throw error;
      }
      return { kind: 'redirect', to: `/patients/${patient.id}` };
    });
}

function withoutPath({ path: _path, ...problem }: Problem): Problem {
  return problem;
}

/** Fields `answers.ID.answer` and `answers.ID.details`. */
function answersOf(fields: Fields): Shown {
  return Object.fromEntries(
    Object.entries(treeOf(fields, 'answers.')).flatMap(([id, given]) =>
      typeof given === 'string' ? [] : [[id, { answer: given.answer, details: given.details }]],
    ),
  );
}

/** Those that have an answer; a note alone is none. */
function answered(given: Shown): object {
  return Object.fromEntries(
    Object.entries(given).flatMap(([id, each]) =>
      each?.answer === undefined ? [] : [[id, { answer: each.answer, details: each.details ?? '' }]],
    ),
  );
}
