import { isWholeSession, type Listened } from '../../listening/listened.js';
import { type EasierChoice, easierChoices } from '../../listening/report.js';
import type { ReadPrescription } from '../../prescription/content.js';
import type { SignedVersion } from '../../store/people/chart.js';
import type { Resources } from '../resources/resources.js';
import { easierLength } from '../resources/sessionLengths.js';
import type { PlaybackResources } from './notPlayable.js';
import type { SessionPlace } from './sessions.js';

/** The approximate length of a session, as listeners see it. */
export function wholeMinutes(durationMs: number): number {
  return Math.max(1, Math.round(durationMs / 60_000));
}

/** An easier session that may be chosen, and its length. */
export type Easier = { choice: EasierChoice; durationMs: number };

/** The easier sessions that a version allows and that are noticeably shorter than the full one. */
export async function listEasierSessions(
  service: Pick<Resources, 'workshop' | 'lengths'>,
  read: ReadPrescription,
  place: SessionPlace,
  wholeMs: number,
): Promise<Easier[]> {
  const offered: Easier[] = [];
  for (const choice of easierChoices) {
    const length = await easierLength(service, read, { ...place, choice });
    if (length === null) continue;
    const { durationMs } = length;
    const isLess =
      choice === 'shorter' ? wholeMinutes(durationMs) < wholeMinutes(wholeMs) : durationMs < wholeMs;
    if (isLess) offered.push({ choice, durationMs });
  }
  return offered;
}

/**
 * The length of the session that was played, so that an easier one is judged by its own length.
 *
 * @param signed all versions of its program
 */
export async function lengthsOf(
  service: PlaybackResources,
  listened: readonly Listened[],
  { signed, usualMs }: { signed: readonly SignedVersion[]; usualMs: number },
): Promise<(listened: Listened) => number> {
  // One length per version and choice: numbers come from phones, and each would be laid out separately.
  const known = new Map<string, number | null>();
  for (const { choice, prescriptionId, versionNumber, finishedAtMs } of listened) {
    const key = `${versionNumber} ${choice}`;
    // A finished session counts as done, however short it was.
    if (choice === null || finishedAtMs !== null || known.has(key)) continue;
    const version = signed.find(({ number }) => number === versionNumber);
    const read = version === undefined ? null : service.versions.read(prescriptionId, version);
    const sessionNumber = read?.program.session.number ?? 1;
    const place = { prescriptionId, versionNumber, sessionNumber, choice };
    const length = read === null ? null : await easierLength(service, read, place);
    known.set(key, length?.durationMs ?? null);
  }
  return (each) =>
    isWholeSession(each) ? usualMs : (known.get(`${each.versionNumber} ${each.choice}`) ?? usualMs);
}
