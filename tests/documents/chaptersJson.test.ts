import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { chaptersJsonOf } from '../../src/documents/chaptersJson.js';
import { readPrescription } from '../../src/prescription/content.js';
import { buildScript } from '../../src/script/buildScript.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { programs, voiceOf } from '../script/arbitraries.js';

const catalogues = await readCatalogues('audio-templates');
const catalogue = catalogues.get('en');
if (catalogue === undefined) throw new Error('the tests need the English catalogue');

/** JSON Chapters 1.2 of the Podcasting 2.0 namespace, as far as we use it. */
const fileSchema = z.strictObject({
  version: z.literal('1.2.0'),
  title: z.string(),
  chapters: z
    .array(z.strictObject({ startTime: z.number().min(0), endTime: z.number(), title: z.string() }))
    .min(1),
});

describe('the chapters of a session for other players', () => {
  it('ascend, leave no gap, and are as long as the session, whatever is prescribed', async () => {
    await fc.assert(
      fc.asyncProperty(programs(catalogue), fc.integer({ min: 0, max: 99 }), async (program, seed) => {
        const content = { format: 'stillcount-prescription/1', program };
        const { program: prescribed } = readPrescription(content, 'test', catalogues);
        const script = await buildScript(prescribed, voiceOf(seed, { min: 200, max: 400 }));
        const { title, chapters } = fileSchema.parse(JSON.parse(chaptersJsonOf(script)));
        expect(title).toBe(script.title);
        expect(chapters.map((chapter) => chapter.title)).toEqual(script.chapters.map((one) => one.title));
        expect(chapters[0]?.startTime).toBe(0);
        chapters.forEach(({ startTime, endTime }, index) => {
          expect(endTime).toBeGreaterThan(startTime);
          expect(endTime).toBe(chapters[index + 1]?.startTime ?? script.durationMs / 1000);
        });
      }),
      { numRuns: 40 },
    );
  });

  it('are in seconds, with fractions', () => {
    const chapters = [
      { title: 'Welcome', startMs: 0, endMs: 61_250 },
      { title: 'Rest & “press”', startMs: 61_250, endMs: 900_000 },
    ];
    expect(JSON.parse(chaptersJsonOf({ title: 'Morning', chapters }))).toEqual({
      version: '1.2.0',
      title: 'Morning',
      chapters: [
        { startTime: 0, endTime: 61.25, title: 'Welcome' },
        { startTime: 61.25, endTime: 900, title: 'Rest & “press”' },
      ],
    });
  });
});
