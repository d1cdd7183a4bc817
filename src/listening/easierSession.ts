import type { EasierSession, PlannedSession } from './plan.js';

/**
 * Replaces a session with the easier one that a listener chose on a hard day. Its addresses differ from the full
 * session's only in the number, `12-shorter` instead of `12`, so that a plan does not need to list them.
 */
export function replaceWithEasier(
  { easier: _easier, ...session }: PlannedSession,
  { choice, minutes }: EasierSession,
): PlannedSession {
  const own = (address: string) => address.replace('/session.', `-${choice}/session.`);
  const { session: about, audio, words, figures } = session;
  const chosen = { ...session, choice, minutes, session: own(about), audio: own(audio), words: own(words) };
  return figures === undefined ? chosen : { ...chosen, figures: own(figures) };
}
