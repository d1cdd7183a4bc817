import type { Refusal } from '../refusals.js';

/** What somebody has told that no clinician has answered: whether a warning sign is open, how many notes are unread. */
export type Unanswered = { isWarned: boolean; unreadNotes: number };

/**
 * Rule SIGN-5: what stands against a version that asks for more: either may be the reason against it, however the
 * step came about.
 *
 * @param more what the version asks more of, in a clinician's words; empty where nothing grows, which is always signed
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
