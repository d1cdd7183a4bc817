import type { PrescribedProgram } from '../program/prescribed.js';
import type { TimedScript } from '../script/timedScript.js';
import { type ScriptedSession, withProgramVoice } from './makeSession.js';
import type { Workshop } from './workshop.js';

/** Silence before and after, so that no player cuts into a word. */
const aroundMs = 200;

/**
 * One sentence as a session of its own, in the voice of a program and at its rate.
 *
 * @throws StillcountError kind `input` when the voice does not exist or cannot say it, kind `work` when it fails
 */
export async function promptScript(
  program: PrescribedProgram,
  text: string,
  workshop: Workshop,
): Promise<ScriptedSession> {
  return withProgramVoice(program, workshop, {}, async (library) => {
    const clips = await library.clips([text]);
    const startMs = aroundMs;
    const endMs = startMs + (clips.get(text)?.durationMs ?? 0);
    const durationMs = endMs + aroundMs;
    const script: TimedScript = {
      format: 'stillcount-script/1',
      title: program.title,
      language: program.catalogue.language,
      voice: program.voice,
      wordsPerMinute: program.wordsPerMinute,
      sessionNumber: program.session.number,
      seed: program.session.seed,
      presenceIntervalMs: durationMs,
      durationMs,
      chapters: [{ title: program.title, startMs: 0, endMs: durationMs }],
      cues: [{ kind: 'speech', role: 'instruction', text, startMs, endMs, beatMs: null, chapter: 0 }],
      resumePointsMs: [0],
      adjustments: [],
    };
    return { script, clips, voiceCalls: library.voiceCalls };
  });
}
