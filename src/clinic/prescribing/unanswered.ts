import type { Refusal } from '../refusals.js';

/** What a patient has reported that is unanswered: whether a warning sign is open, and how many notes are unread. */
export type Unanswered = { isWarned: boolean; unreadNotes: number };

/**
 * Rule SIGN-5: what prevents a version that asks for more: a sign or a note may be the reason against it, however the
 * step came about.
 *
 * @param more what the version asks more of, in a clinician's words; empty if nothing increases, which can always be
 *   signed
 */
export function stepRefusals({ isWarned, unreadNotes }: Unanswered, more: readonly string[]): Refusal[] {
  if (more.length === 0) return [];
  const increase = { found: more.join(', '), allowed: 'the same or less' };
  const warned: Refusal = { code: 'warning-unanswered', field: 'warning', ...increase };
  const unread: Refusal =
    unreadNotes === 1
      ? { code: 'note-unread', field: 'notes', ...increase }
      : { code: 'notes-unread', field: 'notes', about: String(unreadNotes), ...increase };
  return [...(isWarned ? [warned] : []), ...(unreadNotes > 0 ? [unread] : [])];
}
