import type { Listened } from '../listening/listened.js';
import type { VersionHistory } from './history.js';

type Heard = Pick<Listened, 'choice'>;

/** The length of the session that was played, using an easier one's own length; infinite if unknown. */
export function durationMsOf(
  version: Pick<VersionHistory, 'durationMs' | 'easier'> | undefined,
  { choice }: Heard,
): number {
  const playedVersion = choice === null ? version : version?.easier?.[choice];
  return playedVersion?.durationMs ?? Number.POSITIVE_INFINITY;
}

/** Where an exercise ends in the session that was played; infinite if unknown. */
export function exerciseEndMsOf(
  version: Pick<VersionHistory, 'exerciseEndsMs' | 'easier'>,
  index: number,
  { choice }: Heard,
): number {
  const playedVersion = choice === null ? version : version.easier?.[choice];
  return playedVersion?.exerciseEndsMs[index] ?? Number.POSITIVE_INFINITY;
}
