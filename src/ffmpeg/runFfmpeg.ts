import type { Readable } from 'node:stream';
import { runInGroup } from '../programs/runInGroup.js';
import { commandLineOf } from './commandLine.js';
import { encoderProblem } from './encoderProblem.js';
import { type EncoderTimes, usualEncoderTimes } from './encoderTimes.js';
import { findFfmpeg } from './findFfmpeg.js';

/** One run of ffmpeg, which writes to its standard output. */
export type FfmpegRun = {
  /**
   * Bytes for standard input; a stream where they would be too large to hold in memory; or the path of a file where
   * ffmpeg has to look ahead (only then does it drop the padding at the end of an MP3).
   */
  input: Buffer | Readable | { filePath: string };
  /** Options before `-i`, name and value as separate items, for example `['-f', 's16le', '-ar', '24000']`. */
  inputOptions: readonly string[];
  /** Options before the output, in the same form; the last format option decides what is written. */
  outputOptions: readonly string[];
  /** Audio filters in the order in which they act. */
  filters?: readonly string[];
  /** How long to wait for it; defaults to the usual deadlines. */
  times?: EncoderTimes;
  /** The run fails when there is more output than this. */
  mostOutputBytes?: number;
};

/** Two hours of decoded sound; a program that writes more never ends. */
const mostBytes = 1 << 30;

/**
 * Runs ffmpeg once and returns everything it wrote.
 *
 * @throws StillcountError kind `work`, with the encoder's name and last lines, when it is missing, rejects the input or
 *   the options, ends early or with an error, or does not answer (it is then killed, with everything it started).
 *   Errors of the input are passed on unchanged.
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
