import type { PlaybackResources } from '../../../clinic/listening/notPlayable.js';
import { findPlaybackProblems } from '../../../clinic/listening/notPlayable.js';
import type { Parts } from '../../../clinic/people/chart.js';
import { damagedProblem } from '../../../clinic/resources/readVersions.js';
import type { Problem } from '../../../errors/stillcountError.js';
import { looseProgram } from '../../../prescription/looseProgram.js';
import { clinicCatalogue } from '../../../prescription/programFindings.js';
import type { Prescription } from '../../../store/people/chart.js';
import type { HttpResources } from '../../server/resources.js';
import { placedInForm } from '../prescribe/sessionView.js';

/** What prevents playing a program that has not ended, with places as the form names them; null for nothing. */
export async function notPlayableView(
  service: PlaybackResources & Pick<HttpResources, 'words'>,
  chart: Pick<Parts, 'versions' | 'notPlayed'>,
  { id, state }: Pick<Prescription, 'id' | 'state'>,
): Promise<{ problems: Problem[]; isDamaged: boolean } | null> {
  if (state === 'ended') return null;
  const { versions, workshop, words } = service;
  const [newest] = await chart.versions(id);
  if (newest?.content == null) {
    const damage = newest?.damage ?? 'program';
    return { problems: [damagedProblem(damage, newest?.number ?? 0)], isDamaged: true };
  }
  const isNoted = (await chart.notPlayed()).has(id);
  // Laying out a session takes long, and is done only for programs found not to fit.
  const found = isNoted
    ? await findPlaybackProblems(service, id, newest)
    : versions.kept(id, newest).problems;
  if (found.length === 0) return null;
  const program = looseProgram(Object(JSON.parse(newest.content)).program);
  const catalogue = clinicCatalogue(workshop);
  return {
    problems: found.map((problem) => placedInForm(problem, program, catalogue, words)),
    isDamaged: false,
  };
}
