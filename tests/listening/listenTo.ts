import { runFfmpeg } from '../../src/ffmpeg/runFfmpeg.js';
import { type Comparison, compareWithScript, type SpokenCue } from './compare.js';
import { grammarOf, wordsMissingFrom } from './grammar.js';
import { dictionaryFile, recognise } from './recognise.js';
import { findUtterances, listeningRateHz } from './utterances.js';

/**
 * Plays a finished sound file to an independent recognizer and holds what it heard against the script. The
 * recognizer gets the sentences of the whole script to choose from, and no word of their order or times.
 *
 * @throws Error naming the words that the recognizer's dictionary lacks: it could never hear them.
 */
export async function listenTo(soundFile: string, cues: readonly SpokenCue[]): Promise<Comparison> {
  const texts = cues.map((cue) => cue.text);
  const unknown = await wordsMissingFrom(dictionaryFile, texts);
  if (unknown.length > 0) throw new Error(`The recogniser does not know these words: ${unknown.join(', ')}`);
  const utterances = findUtterances(await decodeForListening(soundFile));
  return compareWithScript(cues, await recognise(utterances, grammarOf(texts)));
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
