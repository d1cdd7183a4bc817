import { parseBuffer } from 'music-metadata';
import type { TimedScript } from '../../script/timedScript.js';
import { transcriptOf } from '../transcript.js';
import { completeRow, equalRow, type InspectionRow } from './inspection.js';

/** The contents of a file's tag and seek header, as an independent reader reports them. */
export type TagReading = {
  durationMs?: number;
  title?: string;
  lyrics?: string;
  chapters: readonly { title: string; startMs: number; endMs: number }[];
};

/** Reads the tag; from a damaged one it returns what it can read. Never throws. */
export async function readTag(bytes: Uint8Array): Promise<TagReading> {
  try {
    const { format, common } = await parseBuffer(bytes, { mimeType: 'audio/mpeg', size: bytes.length });
    const lyrics = common.lyrics?.[0]?.text;
    return {
      ...(format.duration === undefined ? {} : { durationMs: format.duration * 1000 }),
      ...(common.title === undefined ? {} : { title: common.title }),
      ...(lyrics === undefined ? {} : { lyrics }),
      chapters: (format.chapters ?? []).map((chapter) => ({
        title: chapter.title,
        startMs: Math.round(chapter.start * 1000),
        endMs: Math.round((chapter.end ?? Number.NaN) * 1000),
      })),
    };
  } catch {
    return { chapters: [] };
  }
}

/** Checks the title, chapters and words in the tag against the script (invariant A5). */
export function tagChecks(tag: TagReading, script: TimedScript): InspectionRow[] {
  const right = script.chapters.filter((chapter, index) => {
    const found = tag.chapters[index];
    return (
      found !== undefined &&
      found.title === chapter.title &&
      found.startMs === chapter.startMs &&
      found.endMs === chapter.endMs
    );
  });
  return [
    equalRow('title', 'title', tag.title ?? 'none', script.title),
    completeRow('chapters', 'chapters as in the script', right.length, script.chapters.length),
    equalRow(
      'chapter-count',
      'number of chapters',
      String(tag.chapters.length),
      String(script.chapters.length),
    ),
    equalRow(
      'words',
      'words in the tag',
      tag.lyrics === transcriptOf(script).trim() || tag.lyrics === transcriptOf(script)
        ? 'as in the script'
        : 'other',
      'as in the script',
    ),
  ];
}
