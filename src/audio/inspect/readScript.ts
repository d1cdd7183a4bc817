import { inputError } from '../../errors/stillcountError.js';
import { type TimedScript, timedScriptSchema } from '../../script/timedScript.js';
import { problemsOf } from '../../yaml/zodProblems.js';

/**
 * Parses the timed script in the text of a `session.script.json`.
 *
 * @param file the file's name, for error messages
 * @throws StillcountError kind `input`, with the path of each error
 */
export function readScript(text: string, file: string): TimedScript {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    throw inputError({ message: 'this is not JSON', file, found: text.slice(0, 40) }, error);
  }
  const result = timedScriptSchema.safeParse(value);
  if (!result.success) {
    throw inputError(
      problemsOf(result.error, value, timedScriptSchema).map(({ path, ...problem }) => ({
        ...problem,
        file,
        ...(path.text === '' ? {} : { path: path.text }),
      })),
    );
  }
  refuseStrayTimes(result.data, file);
  return result.data;
}

/** Rejects times that lie outside the session or run backward, because the measurements depend on them. */
function refuseStrayTimes(script: TimedScript, file: string): void {
  const problems = script.cues.flatMap((cue, index) => {
    const spans = [cue, ...(cue.tone === undefined ? [] : [cue.tone])];
    const fine = spans.every((span) => span.startMs <= span.endMs && span.endMs <= script.durationMs);
    const inChapters = cue.chapter < script.chapters.length;
    if (fine && inChapters) return [];
    return [
      {
        message: 'a cue outside its session',
        file,
        path: `cues[${index}]`,
        found: `${cue.startMs} to ${cue.endMs} ms, chapter ${cue.chapter}`,
        allowed: `0 to ${script.durationMs} ms, chapter 0 to ${script.chapters.length - 1}`,
      },
    ];
  });
  if (problems.length > 0) throw inputError(problems.slice(0, 10));
}
