import type { Listened } from '../listening/listened.js';
import type { VersionHistory } from './history.js';

type Heard = Pick<Listened, 'choice'>;

/** How long the session of a playback takes, an easier one by its own length; without end where it is not known. */
export function durationMsOf(
  version: Pick<VersionHistory, 'durationMs' | 'easier'> | undefined,
  { choice }: Heard,
): number {
  const playedVersion = choice === null ? version : version?.easier?.[choice];
  return playedVersion?.durationMs ?? Number.POSITIVE_INFINITY;
}

/** Where an exercise ends in the session of a playback; without end where it is not known. */
export function exerciseEndMsOf(
  version: Pick<VersionHistory, 'exerciseEndsMs' | 'easier'>,
  index: number,
  { choice }: Heard,
): number {
  const playedVersion = choice === null ? version : version.easier?.[choice];
  return playedVersion?.exerciseEndsMs[index] ?? Number.POSITIVE_INFINITY;
}
