import { execFile } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync } from 'node:fs';
import { mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { availableParallelism, tmpdir } from 'node:os';
import path from 'node:path';
import { promisify } from 'node:util';
import { pronunciationsFrom } from './grammar.js';
import { listeningRateHz, type Utterance } from './utterances.js';

const execute = promisify(execFile);
const modelFolder = '/usr/share/pocketsphinx/model/en-us';
/** The CMU pronouncing dictionary of Debian's pocketsphinx-en-us. */
export const dictionaryFile = path.join(modelFolder, 'cmudict-en-us.dict');
const program = '/usr/bin/pocketsphinx_batch';

export type HeardWord = {
  word: string;
  startMs: number;
  /** True when no silence lies between the word before and this one. */
  joined: boolean;
};

/** Why nothing can be listened to on this machine; empty when all is there. */
export function whyNoListener(): string {
  const missing = [program, path.join(modelFolder, 'en-us'), dictionaryFile].filter(
    (file) => !existsSync(file),
  );
  if (missing.length === 0) return '';
  return `skipped: ${missing.join(', ')} missing (Debian packages pocketsphinx and pocketsphinx-en-us)`;
}

/**
 * Has an independent recognizer (CMU PocketSphinx with its US English model, Debian) write down what it hears.
 *
 * @param grammar in the finite-state format of CMU Sphinx
 * @returns words in order, times in whole milliseconds of the recording, good to 10 ms.
 */
export async function recognise(utterances: readonly Utterance[], grammar: string): Promise<HeardWord[]> {
  const folder = await mkdtemp(path.join(tmpdir(), 'stillcount-listening-'));
  try {
    const files = { grammar: path.join(folder, 'session.fsg'), words: path.join(folder, 'words.dict') };
    await writeFile(files.grammar, grammar);
    // All that it could hear: to read the other hundred thousand words takes as long as a short recording.
    await writeFile(files.words, await pronunciationsFrom(dictionaryFile, grammar));
    await Promise.all(
      utterances.map(({ samples }, index) =>
        writeFile(
          path.join(folder, `${index}.raw`),
          new Uint8Array(samples.buffer, samples.byteOffset, samples.byteLength),
        ),
      ),
    );
    const firsts = firstAlike(utterances);
    const shares = dealOut(utterances, [...new Set(firsts)], availableParallelism());
    const heard = await Promise.all(
      shares.map(async (indices, share) => {
        const workFolder = path.join(folder, `share-${share}`);
        await mkdir(workFolder);
        return listen(indices, folder, workFolder, files);
      }),
    );
    const heardIn = utterances.map((): HeardInUtterance[] => []);
    for (const each of heard.flat()) heardIn[each.utterance]?.push(each);
    return utterances
      .flatMap(({ startSample }, index) =>
        (heardIn[firsts[index] ?? index] ?? []).map(({ word, frame, joined }) => ({
          word,
          joined,
          startMs: Math.round((startSample / listeningRateHz) * 1000) + frame * 10,
        })),
      )
      .sort((a, b) => a.startMs - b.startMs);
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

/** For each utterance the first one of exactly its samples: a fifth of a session is the same to the last bit. */
function firstAlike(utterances: readonly Utterance[]): number[] {
  const firstOf = new Map<string, number>();
  return utterances.map(({ samples }, index) => {
    const bytes = new Uint8Array(samples.buffer, samples.byteOffset, samples.byteLength);
    const name = createHash('sha256').update(bytes).digest('hex');
    const first = firstOf.get(name) ?? index;
    firstOf.set(name, first);
    return first;
  });
}

/** Shares of about equal length, longest utterances first. */
function dealOut(utterances: readonly Utterance[], indices: readonly number[], count: number): number[][] {
  const shares = Array.from({ length: count }, () => ({ length: 0, indices: [] as number[] }));
  const longestFirst = indices
    .map((index) => ({ index, length: utterances[index]?.samples.length ?? 0 }))
    .sort((a, b) => b.length - a.length);
  for (const { index, length } of longestFirst) {
    const least = shares.reduce((a, b) => (b.length < a.length ? b : a));
    least.indices.push(index);
    least.length += length;
  }
  return shares.map((share) => share.indices).filter((indices) => indices.length > 0);
}

type HeardInUtterance = { utterance: number; word: string; frame: number; joined: boolean };

async function listen(
  indices: readonly number[],
  soundFolder: string,
  workFolder: string,
  files: { grammar: string; words: string },
): Promise<HeardInUtterance[]> {
  const listFile = path.join(workFolder, 'list.txt');
  const heardFile = path.join(workFolder, 'heard.txt');
  await writeFile(listFile, indices.join('\n'));
  await execute(
    program,
    [
      ...['-adcin', 'yes', '-cepdir', soundFolder, '-cepext', '.raw', '-ctl', listFile],
      ...['-hmm', path.join(modelFolder, 'en-us'), '-dict', files.words, '-fsg', files.grammar],
      // Silences stay in, or the times would be those of a shorter recording.
      ...['-remove_silence', 'no', '-hypseg', heardFile],
      // Wider than the defaults (1e-48, 1e-48, 7e-29): a slow voice is else given up in the middle of a word.
      ...['-beam', '1e-80', '-pbeam', '1e-80', '-wbeam', '1e-60'],
      // Fewer words rather than more (default 0.65): a slow word is else taken for several short ones.
      ...['-wip', '1e-2'],
    ],
    { maxBuffer: 2 ** 28 },
  );
  return (await readFile(heardFile, 'utf8')).split('\n').flatMap(readSegments);
}

/**
 * One line of PocketSphinx's segment file: `name S n T n A n L n` and then, for each word, its first frame,
 * two scores and the word; a frame is 10 ms. Silence and noise stand in angle or square brackets, a step of the
 * grammar without sound is `(NULL)`.
 */
function readSegments(line: string): HeardInUtterance[] {
  const fields = line.trim().split(/\s+/);
  const utterance = Number(fields[0]);
  const heard: HeardInUtterance[] = [];
  let joined = false;
  for (let i = fields.indexOf('L') + 2; i > 1 && i + 3 < fields.length; i += 4) {
    const word = (fields[i + 3] ?? '').replace(/\(\d+\)$/, '');
    if (word === '(NULL)') continue;
    const isWord = /^[\p{L}']/u.test(word);
    if (isWord) heard.push({ utterance, word, frame: Number(fields[i]), joined });
    joined = isWord;
  }
  return heard;
}
