import { renderSession } from '../audio/renderSession.js';
import type { SessionAudio } from '../audio/sessionAudio.js';
import { type Problem, placed, StillcountError } from '../errors/stillcountError.js';
import type { PrescribedProgram } from '../program/prescribed.js';
import { buildScript } from '../script/buildScript.js';
import type { ClipMeasure } from '../script/measure.js';
import type { TimedScript } from '../script/timedScript.js';
import { type ClipLibrary, openClipLibrary, type SpeechClip } from '../voice/clipLibrary.js';
import { openVoice, type VoiceSettings } from '../voice/openVoice.js';
import type { Workshop } from './workshop.js';

/**
 * Words on beats one second apart are spoken at least this fast, whatever the rate of the instructions, because a
 * synthetic voice draws out single words: at 135 words per minute "seven" took 0.8 s in both embedded voices, at 170 it
 * took 0.7 s.
 */
const crispWordsPerMinute = 170;

export type MakingOptions = {
  voice?: VoiceSettings;
  /** Where the voice was set, if not in the program file. */
  voicePlace?: Pick<Problem, 'file' | 'path'>;
  /** Called with how many of the wordings known so far have a clip. */
  onProgress?: (done: number, total: number) => void;
};

/** A timed script and the clips it was measured with. */
export type ScriptedSession = {
  script: TimedScript;
  clips: ReadonlyMap<string, SpeechClip>;
  /** How many phrases the voice had to speak; the others were cached. */
  voiceCalls: number;
};

export type MadeSession = ScriptedSession & { audio: SessionAudio };

/**
 * Makes the timed script of a program: every wording is spoken once and measured.
 *
 * @throws StillcountError kind `input` when the words do not fit the program or the voice does not exist, kind `work`
 *   when the voice fails
 */
export async function makeScript(
  program: PrescribedProgram,
  workshop: Workshop,
  options: MakingOptions = {},
): Promise<ScriptedSession> {
  return withScript(program, workshop, options, async (session) => session);
}

/**
 * Makes the timed script and passes it to `work` with its clips. The voice stays open while the work runs, so that it
 * can speak a clip again that is damaged or no longer cached. Errors as for {@link makeScript}, and anything that the
 * work throws.
 */
export async function withScript<Result>(
  program: PrescribedProgram,
  workshop: Workshop,
  options: MakingOptions,
  work: (session: ScriptedSession) => Promise<Result>,
): Promise<Result> {
  return withProgramVoice(program, workshop, options, async (library) =>
    work(await scripted(program, library)),
  );
}

/** Makes the timed script and the audio of a program. Errors as for {@link makeScript}, and when the encoder fails. */
export async function makeSession(
  program: PrescribedProgram,
  workshop: Workshop,
  options: MakingOptions = {},
): Promise<MadeSession> {
  await workshop.segments.requireEncoder();
  return withScript(program, workshop, options, async (session) => {
    const audio = await renderSession(session.script, session.clips, workshop.segments);
    return { ...session, audio };
  });
}

async function scripted(
  program: PrescribedProgram,
  library: ClipLibrary,
  clipsOf: ClipLibrary['clips'] = library.clips,
): Promise<ScriptedSession> {
  const clips = new Map<string, SpeechClip>();
  const script = await buildScript(program, async (wordings) => {
    for (const crisp of [true, false]) {
      const texts = wordings.filter((wording) => wording.crisp === crisp).map(({ text }) => text);
      for (const [text, clip] of await clipsOf(texts, rateOf(program, crisp))) clips.set(text, clip);
    }
    return clips;
  });
  return { script, clips, voiceCalls: library.voiceCalls };
}

/** Returns the speaking rate, in words per minute, of instructions or of words on beats. */
export function rateOf(program: PrescribedProgram, crisp: boolean): number {
  return crisp ? Math.max(crispWordsPerMinute, program.wordsPerMinute) : program.wordsPerMinute;
}

/** A script in which some lengths may be estimates, because the voice has not spoken everything yet. */
export type PreviewedScript = {
  script: TimedScript;
  /** Number of wordings that were estimated; 0 when the script is exact. */
  estimatedWordings: number;
};

/**
 * Makes the timed script of a program at once, without using the voice: the length of a wording that was spoken before
 * is exact, that of any other is estimated from its number of letters. Errors as for {@link makeScript}, except the
 * voice's.
 */
export async function previewScript(
  program: PrescribedProgram,
  workshop: Workshop,
  options: MakingOptions = {},
): Promise<PreviewedScript> {
  return withProgramVoice(program, workshop, options, async (library) => {
    const estimated = new Set<string>();
    const script = await buildScript(program, async (wordings) => {
      const measures = new Map<string, ClipMeasure>();
      for (const crisp of [true, false]) {
        const texts = wordings.filter((wording) => wording.crisp === crisp).map(({ text }) => text);
        const wordsPerMinute = rateOf(program, crisp);
        const cachedClips = await library.kept(texts, wordsPerMinute);
        for (const text of texts) {
          const clip = cachedClips.get(text);
          measures.set(text, clip ?? estimateOf(text, wordsPerMinute));
          if (clip === undefined) estimated.add(text);
        }
      }
      return measures;
    });
    return { script, estimatedWordings: estimated.size };
  });
}

/**
 * Returns the timed script of a program with its clips if the voice has already spoken all of them, otherwise null.
 * Neither the voice nor the encoder is used, and nothing is estimated. Errors as for {@link makeScript}, except the
 * voice's.
 */
export async function findSpokenScript(
  program: PrescribedProgram,
  workshop: Workshop,
): Promise<ScriptedSession | null> {
  return withProgramVoice(program, workshop, {}, async (library) => {
    const notKept = new Error('not spoken before');
    const keptOrNothing: ClipLibrary['clips'] = async (texts, wordsPerMinute) => {
      const cachedClips = await library.kept(texts, wordsPerMinute);
      if (texts.every((text) => cachedClips.has(text))) return cachedClips;
      throw notKept;
    };
    try {
      return await scripted(program, library, keptOrNothing);
    } catch (error) {
      if (error === notKept) return null;
      throw error;
    }
  });
}

/** Estimates a wording's length: a word is five letters and a space, and the first and last sounds add a little. */
function estimateOf(text: string, wordsPerMinute: number): ClipMeasure {
  return { durationMs: 150 + Math.round((text.length / 6) * (60_000 / wordsPerMinute)), beatOffsetMs: 80 };
}

/** Opens the voice of a program with its clips, and closes it after the work. Errors as for {@link makeScript}. */
export async function withProgramVoice<Result>(
  program: PrescribedProgram,
  workshop: Workshop,
  options: MakingOptions,
  work: (library: ClipLibrary) => Promise<Result>,
): Promise<Result> {
  const library = openClipLibrary({
    engine: await openProgramVoice(program, options),
    cache: workshop.clipCache,
    known: workshop.knownClips,
    wordsPerMinute: program.wordsPerMinute,
    pronunciations: { ...program.catalogue.phrases.pronunciations, ...program.pronunciations },
    names: program.listener?.sayAs === undefined ? {} : { [program.listener.name]: program.listener.sayAs },
    ...(options.onProgress === undefined ? {} : { onProgress: options.onProgress }),
  });
  try {
    return await work(library);
  } catch (error) {
    // Words that the voice cannot speak come from the program, so the error names its file.
    throw error instanceof StillcountError && error.kind === 'input'
      ? placed(error, { file: program.file })
      : error;
  } finally {
    await library.close();
  }
}

/**
 * Opens the voice. If it does not exist, the error names the program file, or the place where another voice was set.
 */
async function openProgramVoice(program: PrescribedProgram, options: MakingOptions) {
  try {
    return await openVoice(program.voice, options.voice);
  } catch (error) {
    if (!(error instanceof StillcountError) || error.kind !== 'input') throw error;
    throw placed(error, options.voicePlace ?? { file: program.file });
  }
}
