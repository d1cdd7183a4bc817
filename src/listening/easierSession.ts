import type { EasierSession, PlannedSession } from './plan.js';

/**
 * A session as someone chose it on a hard day. Its addresses differ from those of the whole one in the number only,
 * `12-shorter` in place of `12`, so that a plan need not name them.
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
