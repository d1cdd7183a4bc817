import type { Problem } from '../../errors/stillcountError.js';
import { openWarningSince } from '../../store/attention/openWarning.js';
import type { Db } from '../../store/engine/openStore.js';
import { unreadNotesOf } from '../../store/followup/notes.js';

/** What somebody has told that no clinician has answered: whether a warning sign is open, how many notes are unread. */
export type Unanswered = { isWarned: boolean; unreadNotes: number };

/** @returns null where nothing waits for an answer */
export async function unansweredOf(db: Db, patientId: string): Promise<Unanswered | null> {
  const isWarned = (await openWarningSince(db, patientId)) !== null;
  const unreadNotes = (await unreadNotesOf(db, patientId)).length;
  return isWarned || unreadNotes > 0 ? { isWarned, unreadNotes } : null;
}

/**
 * Rule SIGN-5: what stands against a version that asks for more: either may be the reason against it, however the
 * step came about.
 *
 * @param more what the version asks more of, in a clinician's words; empty where nothing grows, which is always signed
 */
export function stepProblems({ isWarned, unreadNotes }: Unanswered, more: readonly string[]): Problem[] {
  if (more.length === 0) return [];
  const asked = { found: more.join(', '), allowed: 'the same or less' };
  const isOne = unreadNotes === 1;
  const warned = {
    path: 'warning',
    message: 'a warning sign has not been answered, and this asks for more than before',
    ...asked,
    hint: 'answer it first, on the page of this person',
  };
  const unread = {
    path: 'notes',
    message: `${isOne ? 'a note has' : `${unreadNotes} notes have`} not been read, and this asks for more than before`,
    ...asked,
    hint: `read ${isOne ? 'it' : 'them'} first, at the top of this page`,
  };
  return [...(isWarned ? [warned] : []), ...(unreadNotes > 0 ? [unread] : [])];
}
