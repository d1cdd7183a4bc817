import { ID3Writer } from 'browser-id3-writer';
import type { TimedScript } from '../script/timedScript.js';
import { transcriptOf } from './transcript.js';

const mostChapters = 255;

/**
 * Returns the ID3v2.3 tag of a session: title, length, language, the words as lyrics, and the chapters (ID3v2 chapter
 * frame addendum 1.0: CHAP and CTOC). The same script always gives the same bytes.
 */
export function sessionTag(script: TimedScript): Buffer {
  const language = threeLetterLanguage(script.language);
  const writer = new ID3Writer(new ArrayBuffer(0));
  // No padding for later editing, because some readers complain about it. The writer's types do not list this field.
  Object.assign(writer, { padding: 0 });
  writer.setFrame('TIT2', script.title);
  writer.setFrame('TLEN', script.durationMs);
  writer.setFrame('TLAN', language);
  writer.setFrame('USLT', { language, description: '', lyrics: transcriptOf(script) });
  // A table of contents stores its number of entries in one byte.
  const chapters = script.chapters.slice(0, mostChapters);
  const idOf = (index: number) => `chapter-${index + 1}`;
  writer.setFrame('CTOC', {
    id: 'contents',
    topLevel: true,
    ordered: true,
    childElementIds: chapters.map((_, index) => idOf(index)),
  });
  for (const [index, chapter] of chapters.entries()) {
    writer.setFrame('CHAP', {
      id: idOf(index),
      startTime: chapter.startMs,
      endTime: chapter.endMs,
      subFrames: { TIT2: chapter.title },
    });
  }
  return Buffer.from(writer.addTag());
}

/** ISO 639-2 codes, which the tag requires, by two-letter language code; `und` is the code for unknown. */
const threeLetters: Readonly<Record<string, string>> = {
  da: 'dan',
  de: 'deu',
  en: 'eng',
  es: 'spa',
  fi: 'fin',
  fr: 'fra',
  it: 'ita',
  nl: 'nld',
  no: 'nor',
  pl: 'pol',
  pt: 'por',
  sv: 'swe',
};

function threeLetterLanguage(language: string): string {
  return threeLetters[language.toLowerCase().split('-')[0] ?? ''] ?? 'und';
}
