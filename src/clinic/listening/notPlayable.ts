import { setImmediate } from 'node:timers/promises';
import { type Problem, StillcountError } from '../../errors/stillcountError.js';
import { programOfSession } from '../../prescription/sessionProgram.js';
import { leastCoachedFrom } from '../../script/fading.js';
import { findUnplayable } from '../../store/attention/patientChanged.js';
import type { Db } from '../../store/engine/openStore.js';
import type { VersionContent } from '../../store/people/chart.js';
import { listRunningVersions, saveUnplayable } from '../../store/prescribing/notPlayed.js';
import type { Chart } from '../people/chart.js';
import type { Resources } from '../resources/resources.js';

/** The resources for deciding whether a signed version can be played, and for how long. */
export type PlaybackResources = Pick<Resources, 'workshop' | 'lengths' | 'versions'>;

/**
 * Why a signed version can no longer be played: it is damaged, the catalogue has changed since then, an order of
 * exercises that used to be allowed would have the listener lie down again after getting up, or its wording no longer
 * fits. Empty if it can be played. Everything that plays, resumes or shows a program asks here; findings about an
 * active program are recorded with {@link recordUnplayablePrograms}, which holds its reminders and alerts the clinic.
 */
export async function findPlaybackProblems(
  service: PlaybackResources,
  prescriptionId: string,
  version: VersionContent,
): Promise<readonly Problem[]> {
  const { shown, problems } = service.versions.kept(prescriptionId, version);
  if (problems.length > 0 || shown === null) return problems;
  const { program } = shown;
  for (const sessionNumber of shapedLike(program.session.number)) {
    const place = { prescriptionId, versionNumber: version.number, sessionNumber };
    try {
      await service.lengths.recentLength(service.workshop, programOfSession(program, sessionNumber), place);
    } catch (error) {
      if (error instanceof StillcountError && error.kind === 'input') return error.problems;
      throw error;
    }
  }
  return [];
}

/**
 * Session numbers that represent all others: the first, which allows more time and says most; the next one; and one
 * with the fewest words.
 */
function shapedLike(first: number): number[] {
  return [...new Set([first, first + 1, Math.max(first, leastCoachedFrom)])];
}

/** The same for the newest version of a program found not to be playable; empty for any other. */
export async function findHoldReasons(
  service: PlaybackResources,
  chart: Pick<Chart, 'versions'>,
  prescriptionId: string,
): Promise<readonly Problem[]> {
  const [newest] = await chart.versions(prescriptionId);
  const version = newest ?? { number: 0, content: null, damage: 'program' as const };
  return findPlaybackProblems(service, prescriptionId, version);
}

/** Records which of a patient's active programs cannot be played, if that is not yet known. */
export async function recordUnplayablePrograms(
  { store, now }: Pick<Resources, 'store' | 'now'>,
  patientId: string,
  prescriptionIds: readonly string[],
): Promise<void> {
  const isKnown = async (db: Db) => {
    const known = await findUnplayable(db, [patientId]);
    return known.size === prescriptionIds.length && prescriptionIds.every((id) => known.has(id));
  };
  if (await store.read(isKnown)) return;
  await store.write((db) => saveUnplayable(db, patientId, { prescriptionIds, nowMs: now() }));
}

const readAtOnce = 200;

/**
 * Checks every active program once after startup: a database may predate a rule, contain what an earlier catalogue
 * allowed, or be damaged.
 *
 * @param isStopping checked between two of them
 */
export async function detectUnplayablePrograms(
  service: PlaybackResources & Pick<Resources, 'store' | 'now'>,
  isStopping: () => boolean = () => false,
): Promise<void> {
  const { store } = service;
  let afterId = '';
  for (;;) {
    const { running, lastId } = await store.read((db) => listRunningVersions(db, afterId, readAtOnce));
    if (lastId === null) return;
    const patientIds = [...new Set(running.map(({ patientId }) => patientId))];
    const known = await store.read((db) => findUnplayable(db, patientIds));
    for (const { prescriptionId, patientId, ...version } of running) {
      if (isStopping()) return;
      const isKnown = known.has(prescriptionId);
      // Laying one out takes long; it happens when its next session is rendered, well before it is due.
      const problems = isKnown
        ? await findPlaybackProblems(service, prescriptionId, version)
        : service.versions.kept(prescriptionId, version).problems;
      if (isKnown !== problems.length > 0) await noteOne(service, { patientId, prescriptionId, problems });
      // Lets page requests run in between.
      await setImmediate();
    }
    afterId = lastId;
  }
}

async function noteOne(
  service: Pick<Resources, 'store' | 'now'>,
  {
    patientId,
    prescriptionId,
    problems,
  }: { patientId: string; prescriptionId: string; problems: readonly Problem[] },
): Promise<void> {
  const known = await service.store.read((db) => findUnplayable(db, [patientId]));
  const others = [...known.keys()].filter((id) => id !== prescriptionId);
  await recordUnplayablePrograms(
    service,
    patientId,
    problems.length > 0 ? [...others, prescriptionId] : others,
  );
}
