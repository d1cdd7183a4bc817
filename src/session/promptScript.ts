import type { PrescribedProgram } from '../program/prescribed.js';
import type { TimedScript } from '../script/timedScript.js';
import type { SpeechClip } from '../voice/clipLibrary.js';
import { type ScriptedSession, withProgramVoice } from './makeSession.js';
import type { Workshop } from './workshop.js';

/** Silence before and after the sentence, so that no player cuts into a word. */
const aroundMs = 200;

/**
 * Makes a session of one sentence, in the voice and at the rate of a program.
 *
 * @throws StillcountError kind `input` when the voice does not exist or cannot speak the sentence, kind `work` when it
 *   fails
 */
export async function promptScript(
  program: PrescribedProgram,
  text: string,
  workshop: Workshop,
): Promise<ScriptedSession> {
  return withPrompt(program, text, workshop, async (prompt) => prompt);
}

/**
 * Makes the same session and passes it to `work` with its clip, as `withScript` does. Errors as for {@link
 * promptScript}.
 */
export async function withPrompt<Result>(
  program: PrescribedProgram,
  text: string,
  workshop: Workshop,
  work: (prompt: ScriptedSession) => Promise<Result>,
): Promise<Result> {
  return withProgramVoice(program, workshop, {}, async (library) => {
    const clips = await library.clips([text]);
    return work({ script: scriptOf(program, text, clips), clips, voiceCalls: library.voiceCalls });
  });
}

/** Returns the same session if the sentence was already spoken, without using the voice; otherwise null. */
export async function findSpokenPrompt(
  program: PrescribedProgram,
  text: string,
  workshop: Workshop,
): Promise<ScriptedSession | null> {
  return withProgramVoice(program, workshop, {}, async (library) => {
    const clips = await library.kept([text]);
    return clips.has(text) ? { script: scriptOf(program, text, clips), clips, voiceCalls: 0 } : null;
  });
}

function scriptOf(
  program: PrescribedProgram,
  text: string,
  clips: ReadonlyMap<string, SpeechClip>,
): TimedScript {
  const startMs = aroundMs;
  const endMs = startMs + (clips.get(text)?.durationMs ?? 0);
  const durationMs = endMs + aroundMs;
  return {
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
}
