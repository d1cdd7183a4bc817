import { z } from 'zod';
import { hasText } from './hasText.js';
import type { Interview, Precaution } from './interview.js';

/** A patient's answer. "Unsure" is treated like "yes" until it is known. */
export const answerKinds = ['yes', 'unsure', 'no'] as const;

const answerSchema = z.strictObject({
  answer: z.enum(answerKinds),
  /** When, which side, whose restrictions; as the clinician enters it. */
  details: z
    .string()
    .max(500)
    .regex(/^[^\p{Cc}\p{Cs}]*$/u, { error: 'text on one line' })
    .default(''),
  /** The name of the precaution when it was asked; a question that is widened gets a new name. */
  asked: z.string().max(200).optional(),
  /** When it was given, epoch milliseconds, if that was in an earlier interview than the one that contains it. */
  askedAtMs: z.number().int().nonnegative().optional(),
});
export type ScreeningAnswer = z.infer<typeof answerSchema>;

/** The answers of one interview, by precaution id. */
export const screeningAnswersSchema = z.record(z.string().regex(/^[a-z][a-z0-9-]*$/), answerSchema);
export type ScreeningAnswers = z.infer<typeof screeningAnswersSchema>;

/**
 * Rule SCREEN-2: questions that these answers leave open, also because the interview has grown since they were given: a
 * question that has been renamed asks more or something else, and "no" to the old one says nothing about it.
 */
export function unanswered(answers: ScreeningAnswers, interview: Interview): readonly Precaution[] {
  return interview.precautions.filter(({ id, name }) => {
    const answer = answers[id];
    return answer === undefined || (answer.asked ?? name) !== name;
  });
}

/** Returns the answers of an earlier interview as a later one stores them: each with the time it was given. */
export function carriedOver(answers: ScreeningAnswers, takenAtMs: number): ScreeningAnswers {
  return Object.fromEntries(
    Object.entries(answers).map(([id, answer]) => [
      id,
      { ...answer, askedAtMs: answer.askedAtMs ?? takenAtMs },
    ]),
  );
}

/** Rule SCREEN-4: an interview is as old as its oldest answer. Returns when that was given, epoch milliseconds. */
export function oldestAnswerAtMs(answers: ScreeningAnswers, takenAtMs: number): number {
  return Math.min(takenAtMs, ...Object.values(answers).map(({ askedAtMs }) => askedAtMs ?? takenAtMs));
}

/** Returns the answers with the name under which each was asked: today's, unless it is from an earlier interview. */
export function withNames(answers: ScreeningAnswers, interview: Interview): ScreeningAnswers {
  return Object.fromEntries(
    Object.entries(answers).map(([id, answer]) => {
      const askedAs = answer.asked ?? interview.precautions.find((precaution) => precaution.id === id)?.name;
      return [id, { ...answer, ...(askedAs === undefined ? {} : { asked: askedAs }) }];
    }),
  );
}

/** Returns positive answers to precautions that the interview no longer contains. */
export function formerPrecautionsOf(
  answers: ScreeningAnswers,
  interview: Interview,
): readonly { id: string; name: string }[] {
  const known = new Set(interview.precautions.map(({ id }) => id));
  return Object.entries(answers)
    .filter(([id, { answer }]) => answer !== 'no' && !known.has(id))
    .map(([id, { asked: askedAs }]) => ({ id, name: askedAs ?? id }));
}

/** Returns precautions answered with yes whose required details are missing. */
export function missingDetails(answers: ScreeningAnswers, interview: Interview): readonly Precaution[] {
  return interview.precautions.filter(
    ({ id, needsDetails }) => needsDetails && answers[id]?.answer === 'yes' && !hasText(answers[id].details),
  );
}

/** Rule SCREEN-1: a precaution applies if it is answered with yes or unsure. */
export function precautionsOf(answers: ScreeningAnswers, interview: Interview): readonly Precaution[] {
  return interview.precautions.filter(({ id }) => ['yes', 'unsure'].includes(answers[id]?.answer ?? 'no'));
}
