import { runFfmpeg } from '../../src/ffmpeg/runFfmpeg.js';
import { type Comparison, compareWithScript, type SpokenCue } from './compare.js';
import { grammarOf, wordsMissingFrom } from './grammar.js';
import { choosePart } from './part.js';
import { dictionaryFile, recognise } from './recognise.js';
import { findUtterances, listeningRateHz } from './utterances.js';

/**
 * Plays a finished sound file to an independent recognizer and holds what it heard against the script. The
 * recognizer gets the sentences of the whole script to choose from, and no word of their order or times.
 *
 * @param known wordings that were heard before, and need not be again: only those parts of the file are played in which
 *   one lies that is not among them, each wording once. What is heard here whole is added. Left out: all is played.
 * @throws Error naming the words that the recognizer's dictionary lacks: it could never hear them.
 */
export async function listenTo(
  soundFile: string,
  cues: readonly SpokenCue[],
  known?: Set<string>,
): Promise<Comparison & { cues: readonly SpokenCue[] }> {
  const texts = cues.map((cue) => cue.text);
  const unknown = await wordsMissingFrom(dictionaryFile, texts);
  if (unknown.length > 0) throw new Error(`The recognizer does not know these words: ${unknown.join(', ')}`);
  const utterances = findUtterances(await decodeForListening(soundFile));
  const played = known === undefined ? { utterances, cues } : choosePart(utterances, cues, known);
  const heard = await recognise(played.utterances, grammarOf(texts));
  return { ...compareWithScript(played.cues, heard), cues: played.cues };
}

/** Any sound file as 16 kHz mono samples. */
async function decodeForListening(filePath: string): Promise<Int16Array> {
  const bytes = await runFfmpeg({
    input: { filePath },
    inputOptions: [],
    outputOptions: ['-ac', '1', '-ar', String(listeningRateHz), '-f', 's16le'],
  });
  return new Int16Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + (bytes.length & ~1)));
}
