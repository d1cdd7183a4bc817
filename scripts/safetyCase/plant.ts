import { readFileSync } from 'node:fs';
import path from 'node:path';
import type { Fault } from './rule.js';

/** How often a fragment stands in a text. */
export function countOf(text: string, fragment: string): number {
  return fragment === '' ? 0 : text.split(fragment).length - 1;
}

/**
 * A file's text with a fault in place of its fragment.
 *
 * @throws RangeError when the fragment does not stand there exactly once: the case is older than the code
 */
export function withFault(text: string, { file, fragment, planted }: Fault): string {
  const count = countOf(text, fragment);
  if (count !== 1) throw new RangeError(`${file} holds this fragment ${count} times, not once: ${fragment}`);
  return text.split(fragment).join(planted);
}

/** The line of a file, from 1, on which a fault's fragment begins. */
export function lineOf(root: string, { file, fragment }: Fault): number {
  const text = readFileSync(path.join(root, file), 'utf8');
  return text.slice(0, text.indexOf(fragment)).split('\n').length;
}

/**
 * Hands a file's text to the tests with a fault in it. Nothing on the disk changes, so that neither an editor nor
 * another run ever meets a planted fault, and nothing has to be put back.
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

  /** A plugin of Vite, which loads every module that a test imports. */
  get plugin() {
    const planted = (code: string, id: string): string | null => {
      const fault = this.#fault;
      if (fault === null || id.split('?')[0] !== path.join(this.#root, fault.file)) return null;
      return withFault(code, fault);
    };
    return { name: 'stillcount-planted-fault', enforce: 'pre' as const, transform: planted };
  }
}
