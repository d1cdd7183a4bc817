import { createHash } from 'node:crypto';
import { findWarningWords, type WarningWords } from '../../listening/findWarningWords.js';
import { listNotesToRescan, type NoteSigns, saveNoteSigns } from '../../store/followup/notes.js';
import type { Resources } from '../resources/resources.js';

const hashes = new WeakMap<WarningWords, string>();

/** Identifies a word list, so that notes are checked again when it changes. */
function hashOf(words: WarningWords): string {
  const hash = hashes.get(words) ?? createHash('sha256').update(JSON.stringify(words)).digest('hex');
  hashes.set(words, hash);
  return hash;
}

/** The signs a note may name, by today's list. */
export function findNoteSigns(
  { warningWords }: Pick<Resources['workshop'], 'warningWords'>,
  text: string,
): NoteSigns {
  const signs = findWarningWords(text, warningWords).map(({ sign }) => sign);
  return { signs: [...new Set(signs)], wordsHash: hashOf(warningWords) };
}

/**
 * Checks unread notes from before the word list changed or existed. Called at startup; several processes may do it at
 * once with the same result.
 */
export async function rescanNotes({ store, workshop }: Pick<Resources, 'store' | 'workshop'>): Promise<void> {
  const wordsHash = hashOf(workshop.warningWords);
  for (;;) {
    const notes = await store.read((db) => listNotesToRescan(db, wordsHash));
    for (const { text, ...note } of notes) {
      await store.write((db) => saveNoteSigns(db, note, findNoteSigns(workshop, text)));
    }
    if (notes.length === 0) return;
  }
}
