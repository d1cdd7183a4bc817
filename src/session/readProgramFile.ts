import { readFile, stat } from 'node:fs/promises';
import { inputError } from '../errors/stillcountError.js';
import type { PrescribedProgram } from '../program/prescribed.js';
import { readProgram } from '../program/readProgram.js';
import type { Workshop } from './workshop.js';

const maxProgramBytes = 1_000_000;

/**
 * Reads and checks a program file.
 *
 * @throws StillcountError kind `input` when it does not exist, is not a text file, or anything in it is wrong
 */
export async function readProgramFile(path: string, workshop: Workshop): Promise<PrescribedProgram> {
  return readProgram(await readText(path), path, workshop.catalogues);
}

async function readText(path: string): Promise<string> {
  try {
    const { size } = await stat(path);
    if (size > maxProgramBytes) {
      throw inputError({
        file: path,
        message: 'the file is too large to be a program',
        found: `${size} bytes`,
        allowed: `at most ${maxProgramBytes} bytes`,
      });
    }
    return new TextDecoder('utf-8', { fatal: true }).decode(await readFile(path));
  } catch (cause) {
    if (cause instanceof TypeError) {
      throw inputError(
        { file: path, message: 'this is not a text file', allowed: 'YAML text in UTF-8' },
        cause,
      );
    }
    if (!(cause instanceof Error) || !('code' in cause)) throw cause;
    const reasons: Record<string, string> = {
      ENOENT: 'there is no such file',
      EISDIR: 'this is a folder, not a program file',
      EACCES: 'this file may not be read',
    };
    throw inputError(
      { file: path, message: reasons[String(cause.code)] ?? 'this file cannot be read' },
      cause,
    );
  }
}
