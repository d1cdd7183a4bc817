import { PassThrough, Readable } from 'node:stream';
import fluentFfmpeg from 'fluent-ffmpeg';
import { StillcountError, workError } from '../errors/stillcountError.js';
import { findFfmpeg } from './findFfmpeg.js';

const running = new Set<{ kill(signal: string): unknown }>();
process.on('exit', () => {
  for (const command of running) command.kill('SIGKILL');
});

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
};

/**
 * Runs ffmpeg once and gives all that it wrote.
 *
 * @throws StillcountError kind `work`, with ffmpeg's last line, when ffmpeg is missing, refuses the input or
 *   the options, or dies before it is done.
 */
export async function runFfmpeg(run: FfmpegRun): Promise<Buffer> {
  return (await runFfmpegWithLog(run)).output;
}

/** Like {@link runFfmpeg}, and gives ffmpeg's messages too: its meters report only there. */
export async function runFfmpegWithLog(run: FfmpegRun): Promise<{ output: Buffer; log: string }> {
  const { path } = await findFfmpeg();
  return new Promise((resolve, reject) => {
    const chunks: Buffer[] = [];
    const sink = new PassThrough();
    sink.on('data', (chunk: Buffer) => chunks.push(chunk));
    const log: string[] = [];
    const source = sourceOf(run.input);
    // What is fed in may fail by itself, for example a voice; that is not ffmpeg's fault.
    let sourceError: unknown = null;
    if (typeof source !== 'string') {
      source.once('error', (error) => {
        sourceError = error;
      });
    }
    const command = fluentFfmpeg(source)
      .setFfmpegPath(path)
      .inputOptions([...run.inputOptions])
      .outputOptions([...run.outputOptions])
      .on('stderr', (line: string) => log.push(line))
      .on('error', (error: Error) => {
        running.delete(command);
        if (typeof source !== 'string') source.destroy();
        reject(sourceError instanceof StillcountError ? sourceError : ffmpegFailed(error, log));
      })
      .on('end', () => {
        running.delete(command);
        if (sink.readableEnded) resolve({ output: Buffer.concat(chunks), log: log.join('\n') });
        else sink.once('end', () => resolve({ output: Buffer.concat(chunks), log: log.join('\n') }));
      });
    if (run.filters !== undefined && run.filters.length > 0) command.audioFilters([...run.filters]);
    running.add(command);
    command.pipe(sink, { end: true });
  });
}

function sourceOf(input: FfmpegRun['input']): Readable | string {
  if (Buffer.isBuffer(input)) return Readable.from(pieces(input));
  return input instanceof Readable ? input : input.filePath;
}

const pieceBytes = 1 << 16;

/** Pieces, so that a program which dies half-way is noticed before all has been handed over. */
function* pieces(bytes: Buffer): Iterable<Buffer> {
  for (let start = 0; start < bytes.length; start += pieceBytes) {
    yield bytes.subarray(start, start + pieceBytes);
  }
}

function ffmpegFailed(error: Error, log: readonly string[]) {
  const lines = log.map((line) => line.trim()).filter((line) => line !== '');
  const lastLine = lines[lines.length - 1];
  const firstOfError = error.message.split('\n')[0] ?? error.message;
  return workError(
    {
      message: 'ffmpeg could not finish its work on the sound',
      found: lastLine === undefined ? firstOfError : `${firstOfError} (last line: ${lastLine})`,
      hint: 'try again; if it stays, install another ffmpeg or name one in STILLCOUNT_FFMPEG',
    },
    error,
  );
}
