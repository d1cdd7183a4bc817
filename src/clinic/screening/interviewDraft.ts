import { z } from 'zod';
import { answerKinds } from '../../screening/answers.js';
import type { Store } from '../../store/engine/openStore.js';
import {
  type DraftPlace,
  deleteDraft,
  draftAt,
  interviewDraft,
  writeDraft,
} from '../../store/prescribing/prescriptions.js';
import { dayMs } from '../../time/units.js';
import type { Actor } from '../actor.js';

/** How an answer was given together with others: `rest` as one of those answered No, `same` as unchanged. */
const togetherKinds = ['rest', 'same'] as const;

/** Answers as they are given, complete or not. */
const draftSchema = z.record(
  z.string(),
  z.strictObject({
    answer: z.enum(answerKinds).optional(),
    details: z.string().default(''),
    /** Omitted for an answer that was given individually. */
    together: z.enum(togetherKinds).optional(),
  }),
);
export type InterviewDraft = z.infer<typeof draftSchema>;

/** Older answers are asked again: they would be recorded as given today (our choice). */
const holdsForMs = dayMs;

function place({ clinician }: Actor, patientId: string): DraftPlace {
  return { clinicianId: clinician.id, patientId, prescriptionId: interviewDraft };
}

/** The answers of an interview that this clinician left unfinished within the last day; otherwise none. */
export async function readInterviewDraft(
  store: Pick<Store, 'read'>,
  actor: Actor,
  patientId: string,
): Promise<InterviewDraft> {
  const draft = await store.read((db) => draftAt(db, place(actor, patientId)));
  if (draft === null || actor.nowMs - draft.updatedAtMs > holdsForMs) return {};
  return draftSchema.parse(JSON.parse(draft.content));
}

/** Keeps the answers until the interview is saved. */
export async function saveInterviewDraft(
  store: Pick<Store, 'write'>,
  actor: Actor,
  patientId: string,
  answers: InterviewDraft,
): Promise<void> {
  const draft = { content: JSON.stringify(answers), basedOnNumber: 0, updatedAtMs: actor.nowMs };
  await store.write((db) => writeDraft(db, place(actor, patientId), draft));
}

/** Deletes the draft once the interview is saved or started over. */
export async function discardInterviewDraft(
  store: Pick<Store, 'write'>,
  actor: Actor,
  patientId: string,
): Promise<void> {
  await store.write((db) => deleteDraft(db, place(actor, patientId)));
}
