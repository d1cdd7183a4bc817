import { readFile, stat } from 'node:fs/promises';
import { buffer } from 'node:stream/consumers';
import { inputError } from '../errors/stillcountError.js';
import type { PrescribedProgram } from '../program/prescribed.js';
import { readProgram } from '../program/readProgram.js';
import { standardInput } from './standardInput.js';
import type { Workshop } from './workshop.js';

const maxProgramBytes = 1_000_000;

/**
 * Reads and validates a program file.
 *
 * @param path `-` for standard input
 * @throws StillcountError kind `input` when it does not exist, is not a text file, or contains an error
 */
export async function readProgramFile(path: string, workshop: Workshop): Promise<PrescribedProgram> {
  if (path !== standardInput) return readProgram(await readText(path), path, workshop.catalogues);
  const name = 'standard input';
  return readProgram(textOf(await buffer(process.stdin), name), name, workshop.catalogues);
}

async function readText(path: string): Promise<string> {
  try {
    const { size } = await stat(path);
    requireSize(size, path);
    return textOf(await readFile(path), path);
  } catch (cause) {
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

function requireSize(bytes: number, file: string): void {
  if (bytes <= maxProgramBytes) return;
  throw inputError({
    file,
    message: 'the file is too large to be a program',
    found: `${bytes} bytes`,
    allowed: `at most ${maxProgramBytes} bytes`,
  });
}

function textOf(bytes: Buffer, file: string): string {
  requireSize(bytes.byteLength, file);
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch (cause) {
    throw inputError({ file, message: 'this is not a text file', allowed: 'YAML text in UTF-8' }, cause);
  }
}
