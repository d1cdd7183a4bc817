import { z } from 'zod';
import { answerCodes } from '../../../errors/refusalCodes.js';
import { screeningAnswersSchema } from '../../../screening/answers.js';
import { measures } from '../../../screening/interview.js';
import { attentionKinds, consentKinds } from '../../../store/schema/peopleSchema.js';
import { prescriptionStates } from '../../../store/schema/prescribingSchema.js';

/** What the API returns. Objects are stripped to these keys. */

const atMs = z.int().describe('Epoch milliseconds.');
const id = z.string();

const problem = z.object({
  message: z.string(),
  path: z.string().optional(),
  found: z.string().optional(),
  allowed: z.string().optional(),
  hint: z.string().optional(),
});

export const made = z.object({ id });

const listedPerson = z.object({ id, name: z.string(), birthYear: z.int().nullable() });
export const people = z.object({
  people: z.array(listedPerson),
  next: z.string().nullable().describe('Pass it as `after` in the next request; null on the last page.'),
});
export const person = z
  .object({
    id,
    revision: z.int(),
    name: z.string(),
    spokenName: z.string(),
    sayAs: z.string(),
    birthYear: z.int().nullable(),
    language: z.string(),
    zone: z.string(),
    phone: z.string(),
    email: z.string(),
    hearingNotes: z.string(),
    goals: z.array(z.string()),
  })
  .describe('A patient’s details.');

export const attention = z.object({
  total: z.int(),
  first: z.array(
    z.object({
      personId: id,
      name: z.string(),
      kind: z.enum(attentionKinds),
      subject: z.string(),
      sinceMs: atMs,
    }),
  ),
});

export const question = z.object({
  id,
  system: z.string().describe('The body system it belongs to; urgent questions come first.'),
  name: z.string(),
  ask: z.string(),
  help: z.string().nullable(),
  askAlone: z.boolean().describe('Must be answered individually.'),
  needsDetails: z.boolean().describe('A yes needs details: when, which side, and what is allowed.'),
});
export const screening = z.object({
  id,
  answers: screeningAnswersSchema
    .nullable()
    .describe('Null if the stored interview is damaged; it is then not used.'),
  clinicianName: z.string(),
  atMs,
});

export const caregiver = z.object({
  id,
  name: z.string(),
  relation: z.string(),
  phone: z.string(),
  email: z.string(),
});
export const consent = z.object({
  kind: z.enum(consentKinds),
  caregiverId: id.nullable(),
  isGiven: z.boolean(),
  onDate: z.string(),
  note: z.string(),
  clinicianName: z.string(),
});

export const listedPrescription = z.object({
  id,
  title: z.string(),
  state: z.enum(prescriptionStates),
  newestVersion: z.int(),
  signedAtMs: atMs,
  signedByName: z.string(),
});
const version = z.object({
  number: z.int(),
  content: z
    .record(z.string(), z.unknown())
    .nullable()
    .describe('The signed content; null if the stored content is damaged, in which case it is not shown.'),
  isDamaged: z.boolean(),
  reason: z.string(),
  signedByName: z.string(),
  signedAtMs: atMs,
});
export const prescription = z.object({
  id,
  personId: id,
  title: z.string(),
  state: z.enum(prescriptionStates),
  newestVersion: z.int(),
  problems: z
    .array(problem)
    .describe('Why the newest version can no longer be played, resumed or signed again; empty if it can.'),
  versions: z.array(version).describe('Newest first.'),
  stateChanges: z.array(
    z.object({ state: z.enum(prescriptionStates), reason: z.string(), atMs, clinicianName: z.string() }),
  ),
});
export const handedIn = z.object({
  signAt: z.string().describe('The page where it is reviewed and signed.'),
});

export const preview = z.object({
  durationMs: z.int(),
  underTensionSeconds: z.number(),
  estimatedWordings: z
    .int()
    .describe('Number of sentences whose length is an estimate until the voice has spoken them.'),
  adjustments: z.array(z.string()),
  openQuestions: z
    .array(z.string())
    .describe(
      'Questions not asked yet, or asked too long ago; nothing can be signed until they are answered.',
    ),
  findings: z.array(
    z.object({
      rule: z.string(),
      precaution: z.string(),
      measure: z.enum(measures),
      exercises: z.array(z.string()),
      why: z.string(),
      how: z.string(),
      clearedBy: z.string().nullable(),
      source: z.string(),
    }),
  ),
});

export const exercise = z.object({
  id,
  name: z.string(),
  anatomy: z.string(),
  purpose: z.string(),
  purposes: z.array(z.string()),
  position: z.string(),
  loadTags: z.array(z.string()),
  cautions: z.array(z.string()),
  dose: z.record(z.string(), z.number()),
  limits: z.record(z.string(), z.object({ min: z.number(), max: z.number() })),
});
export const starter = z.object({ id, title: z.string(), isOwn: z.boolean() });

export const colleague = z.object({
  id,
  name: z.string(),
  email: z.string(),
  role: z.string(),
  endedAtMs: atMs.nullable(),
});
export const trail = z.object({
  entries: z.array(
    z.object({
      sequence: z.int(),
      action: z.string(),
      subject: z.string(),
      personId: id.nullable(),
      clinicianName: z.string().nullable(),
      accessKeyName: z.string().nullable(),
      atMs,
    }),
  ),
  next: z.int().nullable().describe('Pass it as `before` in the next request; null on the last page.'),
});

const code = z
  .enum(answerCodes)
  .describe('A stable code whose meaning never changes; sentences may be reworded.');
export const problems = z.object({
  code: code.describe('What went wrong; the code of the first problem if there are several.'),
  heading: z.string(),
  problems: z.array(problem.extend({ code })),
  requestId: z.string().optional().describe('Finds the failure in the service log.'),
});

export const fhirBundle = z
  .object({
    resourceType: z.literal('Bundle'),
    type: z.literal('collection'),
    timestamp: z.string(),
    entry: z.array(
      z.object({
        fullUrl: z.string(),
        resource: z.looseObject({ resourceType: z.string(), id: z.string() }),
      }),
    ),
  })
  .describe('As defined by HL7 FHIR R4.');
