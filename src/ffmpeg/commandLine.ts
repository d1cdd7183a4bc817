import fluentFfmpeg from 'fluent-ffmpeg';
import { z } from 'zod';
import { workError } from '../errors/stillcountError.js';

export type CommandParts = {
  /** The file to read; null for standard input. */
  inputFile: string | null;
  inputOptions: readonly string[];
  outputOptions: readonly string[];
  filters: readonly string[];
};

const argumentsSchema = z.array(z.string());

/**
 * Returns the arguments of one run of ffmpeg that writes to its standard output, in the order of fluent-ffmpeg. That
 * package is no longer maintained; it was agreed on for this project, and is used only for this. It does not start the
 * program, because a process that it starts has no process group of its own, and because it treats an encoder as failed
 * that exits more than 20 ms after its last byte.
 */
export function commandLineOf({
  inputFile,
  inputOptions,
  outputOptions,
  filters,
}: CommandParts): readonly string[] {
  const command = fluentFfmpeg(inputFile ?? 'pipe:0')
    .inputOptions([...inputOptions])
    .outputOptions([...outputOptions])
    .output('pipe:1');
  if (filters.length > 0) command.audioFilters([...filters]);
  if (!canTell(command))
    throw workError({ message: 'the package for command lines is not the one expected' });
  return argumentsSchema.parse(command._getArguments());
}

/** The package's types do not list this method, which has existed since its first version. */
function canTell(command: object): command is { _getArguments(): unknown } {
  return '_getArguments' in command && typeof command._getArguments === 'function';
}
