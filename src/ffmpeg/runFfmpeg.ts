import type { Readable } from 'node:stream';
import { runInGroup } from '../programs/runInGroup.js';
import { commandLineOf } from './commandLine.js';
import { encoderProblem } from './encoderProblem.js';
import { type EncoderTimes, usualEncoderTimes } from './encoderTimes.js';
import { findFfmpeg } from './findFfmpeg.js';

/** One run of ffmpeg, whose output is taken from its standard output. */
export type FfmpegRun = {
  /**
   * Bytes for standard input; a stream where the whole would be too large to hold; or the path of a file, where
   * ffmpeg must be able to look ahead (it drops the padding at the end of an MP3 only then).
   */
  input: Buffer | Readable | { filePath: string };
  /** Options before `-i`, name and value as separate items, for example `['-f', 's16le', '-ar', '24000']`. */
  inputOptions: readonly string[];
  /** Options before the output, in the same form; the last format option decides what is written. */
  outputOptions: readonly string[];
  /** Audio filters in the order in which they act. */
  filters?: readonly string[];
  /** How long it is waited for; as usual when left out. */
  times?: EncoderTimes;
  /** More output than this is not waited for. */
  mostOutputBytes?: number;
};

/** Two hours of decoded sound; more is a program that never ends. */
const mostBytes = 1 << 30;

/**
 * Runs ffmpeg once and gives all that it wrote.
 *
 * @throws StillcountError kind `work`, with the encoder's name and last lines, when it is missing, refuses the input or
 *   the options, ends before it is done or otherwise than well, or does not answer: it is ended then, with all that it
 *   started. What the input throws is passed on as it is.
 */
export async function runFfmpeg(run: FfmpegRun): Promise<Buffer> {
  return (await runFfmpegWithLog(run)).output;
}

/** Like {@link runFfmpeg}, but also returns ffmpeg's messages, because its meters report only there. */
export async function runFfmpegWithLog(run: FfmpegRun): Promise<{ output: Buffer; log: string }> {
  const { input, inputOptions, outputOptions, filters = [], times = usualEncoderTimes } = run;
  const { path } = await findFfmpeg(times);
  const inputFile = 'filePath' in input ? input.filePath : null;
  const outcome = await runInGroup({
    path,
    args: commandLineOf({ inputFile, inputOptions, outputOptions, filters }),
    input: 'filePath' in input ? [] : Buffer.isBuffer(input) ? pieces(input) : input,
    silentMs: times.silentMs,
    wholeMs: times.wholeMs,
    mostOutputBytes: run.mostOutputBytes ?? mostBytes,
  });
  if (outcome.kind !== 'done') throw encoderProblem(path, outcome, times.silentMs);
  return { output: outcome.output, log: outcome.log };
}

const pieceBytes = 1 << 16;

/** Splits the input into pieces, so that a program that dies halfway is noticed before all of it has been written. */
function* pieces(bytes: Buffer): Iterable<Buffer> {
  for (let start = 0; start < bytes.length; start += pieceBytes) {
    yield bytes.subarray(start, start + pieceBytes);
  }
}
