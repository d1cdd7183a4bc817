import type { TimedScript } from '../script/timedScript.js';

/**
 * The chapters of a session for players of podcasts: JSON Chapters 1.2.0 of the Podcasting 2.0 namespace, times in
 * seconds with fractions. Its media type is `application/json+chapters`.
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
