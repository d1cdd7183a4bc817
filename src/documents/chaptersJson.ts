import type { TimedScript } from '../script/timedScript.js';

/**
 * Returns the chapters of a session for podcast players: JSON Chapters 1.2.0 of the Podcasting 2.0 namespace, with
 * times in fractional seconds. The media type is `application/json+chapters`.
 */
export function chaptersJsonOf({ title, chapters }: Pick<TimedScript, 'title' | 'chapters'>): string {
  return JSON.stringify({
    version: '1.2.0',
    title,
    chapters: chapters.map(({ title: name, startMs, endMs }) => ({
      startTime: startMs / 1000,
      endTime: endMs / 1000,
      title: name,
    })),
  });
}
