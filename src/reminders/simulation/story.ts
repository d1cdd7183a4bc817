import { readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { z } from 'zod';
import { parseYaml } from '../../yaml/parseYaml.js';

/** Beside this file's source, even when it runs compiled from `dist`. */
const file = fileURLToPath(new URL('../../../src/reminders/simulation/story.yaml', import.meta.url));

const moment = z.string().regex(/^\d{4}-\d\d-\d\d \d\d:\d\d$/);
const eventSchema = { at: moment, say: z.string() };
const session = z.int().min(1).max(3);
const happeningSchema = z.discriminatedUnion('do', [
  z.strictObject({
    ...eventSchema,
    do: z.enum(['nothing', 'mail-away', 'mail-back', 'answer', 'take-back']),
  }),
  z.strictObject({ ...eventSchema, do: z.enum(['begin', 'put-off', 'warn']), session }),
  z.strictObject({ ...eventSchema, do: z.literal('break'), until: z.iso.date() }),
  z.strictObject({ ...eventSchema, do: z.literal('move'), zone: z.string() }),
]);
export type Happening = z.infer<typeof happeningSchema>;

const person = { name: z.string(), email: z.string() };
const storySchema = z.strictObject({
  clinic: z.strictObject({ name: z.string(), phone: z.string(), emergencyNumber: z.string() }),
  clinician: z.strictObject(person),
  patient: z.strictObject({ ...person, spokenName: z.string(), zone: z.string() }),
  caregiver: z.strictObject({ ...person, relation: z.string() }),
  from: z.iso.date(),
  days: z.int().min(1).max(60),
  timesOfDay: z.array(z.string()),
  rules: z.strictObject({
    quietFrom: z.string(),
    quietUntil: z.string(),
    graceMinutes: z.int(),
    caregiverAfterMinutes: z.int(),
    quietAfterDays: z.int(),
  }),
  happenings: z.array(happeningSchema),
});
export type Story = z.infer<typeof storySchema>;

export async function readStory(): Promise<Story> {
  return parseYaml(await readFile(file, 'utf8'), file, storySchema);
}
