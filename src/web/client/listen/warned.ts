import type { Parts } from './parts.js';

/** What the clinic knows of a warning, as a sentence: it must never be trusted to know what it does not. */
export function whatClinicKnows({ words, courier }: Parts, personId: string): string {
  return words.say(courier.isUntold(personId) ? 'warning-unsent' : 'warning-sent');
}
