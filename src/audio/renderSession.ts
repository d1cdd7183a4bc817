import type { TimedScript } from '../script/timedScript.js';
import { planSegments } from './planSegments.js';
import type { SegmentStore } from './segmentStore.js';
import { SessionAudio } from './sessionAudio.js';
import { sessionTag } from './sessionTag.js';
import { type SpokenClip, soundsOf } from './soundsOf.js';

/**
 * The MP3 file of a script, ready to be read in any byte range. Only sound that was never encoded before is
 * encoded; everything else is copied.
 *
 * @param clips by wording; only those whose segments are missing are asked for their samples.
 * @throws StillcountError kind `work` when a clip is missing or the encoder fails.
 */
export async function renderSession(
  script: TimedScript,
  clips: ReadonlyMap<string, SpokenClip>,
  store: SegmentStore,
): Promise<SessionAudio> {
  const plan = planSegments(soundsOf(script, clips), script.durationMs);
  return new SessionAudio(plan, await store.ensure(plan.segments), sessionTag(script));
}
