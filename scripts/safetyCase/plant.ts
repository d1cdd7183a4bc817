import { readFileSync } from 'node:fs';
import path from 'node:path';
import type { Fault } from './rule.js';

/** Counts how often a fragment occurs in a text. */
export function countOf(text: string, fragment: string): number {
  return fragment === '' ? 0 : text.split(fragment).length - 1;
}

/**
 * Returns a file's text with a fault in place of its fragment.
 *
 * @throws RangeError if the fragment does not occur exactly once: the case no longer matches the code
 */
export function withFault(text: string, { file, fragment, planted }: Fault): string {
  const count = countOf(text, fragment);
  if (count !== 1) throw new RangeError(`${file} holds this fragment ${count} times, not once: ${fragment}`);
  return text.split(fragment).join(planted);
}

/** Returns the line of a file, from 1, on which a fault's fragment begins. */
export function lineOf(root: string, { file, fragment }: Fault): number {
  const text = readFileSync(path.join(root, file), 'utf8');
  return text.slice(0, text.indexOf(fragment)).split('\n').length;
}

/**
 * Serves a file's text to the tests with a fault in it. Nothing on the disk changes, so no editor or other run ever
 * sees a planted fault, and nothing has to be restored.
 */
export class Planter {
  readonly #root: string;
  #fault: Fault | null = null;

  constructor(root: string) {
    this.#root = root;
  }

  set fault(fault: Fault | null) {
    this.#fault = fault;
  }

  /** A Vite plugin, because Vite loads every module that a test imports. */
  get plugin() {
    const planted = (code: string, id: string): string | null => {
      const fault = this.#fault;
      if (fault === null || id.split('?')[0] !== path.join(this.#root, fault.file)) return null;
      return withFault(code, fault);
    };
    return { name: 'stillcount-planted-fault', enforce: 'pre' as const, transform: planted };
  }
}
