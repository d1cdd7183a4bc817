import { inputError } from '../errors/stillcountError.js';
import type { PrescribedProgram } from '../program/prescribed.js';
import { maxSessionMinutes } from '../program/workSeconds.js';
import { adjustmentsInWords } from './adjustments.js';
import { fitBudget } from './fitBudget.js';
import { layOut, wordingsIn } from './layOutSession.js';
import type { MeasureWordings } from './measure.js';
import { placeBlocks } from './place/placeBlocks.js';
import { settledNotes } from './settledWords.js';
import type { TimedScript } from './timedScript.js';

/**
 * Turns a program into its timed script in three passes: lay out, measure, place. The same program, measurements and
 * seed always produce the same script.
 *
 * @param measure returns how long each distinct wording takes in the program's voice, and where its beat lies
 * @throws StillcountError kind `input` when required words do not fit, the time budget cannot be met, or the session is
 *   longer than two hours; also anything that `measure` throws
 */
export async function buildScript(
  program: PrescribedProgram,
  measure: MeasureWordings,
): Promise<TimedScript> {
  const placed = await fitBudget(program, async (candidate, brief) => {
    const blocks = layOut(candidate, brief);
    return placeBlocks(candidate, blocks, await measure(wordingsIn(blocks)));
  });
  if (placed.durationMs > maxSessionMinutes * 60_000) throw tooLong(program.file, placed.durationMs);
  return {
    format: 'stillcount-script/1',
    title: program.title,
    language: program.language,
    voice: program.voice,
    wordsPerMinute: program.wordsPerMinute,
    sessionNumber: program.session.number,
    seed: program.session.seed,
    presenceIntervalMs: Math.round(program.presenceEverySeconds * 1000),
    durationMs: placed.durationMs,
    chapters: placed.chapters,
    cues: placed.cues.map(({ resumeHere: _resumeHere, ...cue }) => cue),
    resumePointsMs: placed.resumePointsMs,
    adjustments: adjustmentsInWords([...placed.notes, ...settledNotes(program)], program.catalogue),
  };
}

function tooLong(file: string, durationMs: number) {
  return inputError({
    file,
    path: 'exercises',
    message: 'the session is too long to be safe or useful',
    found: `${Math.round(durationMs / 60_000)} minutes`,
    allowed: `at most ${maxSessionMinutes} minutes`,
  });
}
