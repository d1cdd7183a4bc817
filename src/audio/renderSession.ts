import type { TimedScript } from '../script/timedScript.js';
import { planSegments } from './planSegments.js';
import type { SegmentStore } from './segmentStore.js';
import { SessionAudio } from './sessionAudio.js';
import { sessionTag } from './sessionTag.js';
import { type SpokenClip, soundsOf } from './soundsOf.js';

/**
 * Renders a script to an MP3 file that can be read in any byte range. Only sound that has never been encoded is
 * encoded; everything else is copied.
 *
 * @param clips the clips by wording; samples are fetched only for clips whose segments are missing
 * @throws StillcountError kind `work` when a clip is missing or the encoder fails
 */
export async function renderSession(
  script: TimedScript,
  clips: ReadonlyMap<string, SpokenClip>,
  store: SegmentStore,
): Promise<SessionAudio> {
  const plan = planSegments(soundsOf(script, clips), script.durationMs);
  return new SessionAudio(plan, await store.ensure(plan.segments), sessionTag(script));
}
