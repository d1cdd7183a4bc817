import type { PlannedPerson } from '../../listening/plan.js';
import { writeText } from './dom.js';
import type { Parts } from './parts.js';

/** Writes which person a view is for, where that is not obvious: on a caregiver's page. */
export function writePatientLabel(
  { plans, words }: Parts,
  view: HTMLElement,
  { spokenName }: PlannedPerson,
  sentence: 'for-name' | 'for-name-words' = 'for-name',
): void {
  const { isCaregiver, people } = plans.plan;
  const isPlain = !isCaregiver && people.length < 2;
  writeText(view, 'for', isPlain || spokenName === '' ? '' : words.say(sentence, { name: spokenName }));
}
