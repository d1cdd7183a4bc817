import { describe, expect, it } from 'vitest';
import { escapeMarkup } from '../../src/documents/markup.js';
import { lanes, stripSvg } from '../../src/documents/strip.js';
import { readPrescription } from '../../src/prescription/content.js';
import { buildScript } from '../../src/script/buildScript.js';
import type { TimedScript } from '../../src/script/timedScript.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { voiceOf } from '../script/arbitraries.js';

const words = {
  title: 'Session & strip',
  description: 'Fifteen minutes',
  lanes: { words: 'Words', counts: 'Counts', breath: 'Breath', rests: 'Rests', presence: 'Presence' },
};

async function scriptOf(exercises: readonly object[], perWordMs = 300): Promise<TimedScript> {
  const content = {
    format: 'stillcount-prescription/1',
    program: { format: 'stillcount-program/1', title: 'Morning', exercises },
  };
  const { program } = readPrescription(content, 'test', await readCatalogues('audio-templates'));
  return buildScript(program, voiceOf(7, { min: perWordMs, max: perWordMs }));
}

/** The numbers of every bar of a lane. */
function bars(svg: string, lane: string): { x: number; width: number }[] {
  return [
    ...svg.matchAll(new RegExp(`lane-${lane} [^"]*" x="([\\d.]+)" y="[\\d.]+" width="([\\d.]+)"`, 'g')),
  ].map(([, x, width]) => ({ x: Number(x), width: Number(width) }));
}

describe('the strip of a session', () => {
  it('draws every cue to scale in its lane', async () => {
    const script = await scriptOf([
      { exercise: 'rest-arms-open', dose: { durationSeconds: 180 } },
      { exercise: 'head-press', dose: { reps: 3, holdSeconds: 5, restSeconds: 10 } },
      { exercise: 'arm-reach', side: 'alternate', dose: { reps: 2 } },
    ]);
    const svg = stripSvg(script, words);
    const counts = script.cues.filter(({ kind }) => kind === 'count');
    expect(counts.length).toBe(15);
    expect(bars(svg, 'counts')).toHaveLength(counts.length);
    const left = Number(/data-left="(\d+)"/.exec(svg)?.[1]);
    const perSecond = Number(/data-px-per-second="(\d+)"/.exec(svg)?.[1]);
    counts.forEach((cue, index) => {
      const x = bars(svg, 'counts')[index]?.x ?? Number.NaN;
      expect(Math.abs((x - left) / perSecond - cue.startMs / 1000)).toBeLessThan(0.02);
    });
    expect(bars(svg, 'words')).toHaveLength(
      script.cues.filter(({ kind, text }) => kind !== 'count' && text !== undefined).length,
    );
    expect(bars(svg, 'presence')).toHaveLength(script.cues.filter(({ kind }) => kind === 'presence').length);
    const phases = script.cues.flatMap(({ phase }) => phase ?? []);
    expect(bars(svg, 'breath')).toHaveLength(phases.length);
    expect(bars(svg, 'rests').length, 'two rests between three presses').toBe(2);
    for (const { width } of bars(svg, 'rests')) expect(width / perSecond).toBeGreaterThanOrEqual(10);
  });

  it('says what it shows, marks each chapter and each adjustment', async () => {
    const script = await scriptOf([{ exercise: 'head-press', dose: { reps: 3, restSeconds: 3 } }], 900);
    const svg = stripSvg(script, words);
    expect(svg).toContain('<title id="strip-title">Session &amp; strip</title>');
    expect(svg.match(/class="chapter-line"/g)).toHaveLength(script.chapters.length);
    for (const lane of lanes) expect(svg).toContain(`>${words.lanes[lane]}</text>`);
    expect(script.adjustments.length, 'such short rests have to grow').toBeGreaterThan(0);
    expect(svg.match(/class="adjusted"/g)).toHaveLength(1);
  });

  it('shows words as they are and never as markup', async () => {
    const script = await scriptOf([{ exercise: 'head-press' }]);
    const [first, ...others] = script.cues;
    if (first === undefined) return expect.unreachable('a session has cues');
    const evil = '</title><script>alert(1)</script>';
    const svg = stripSvg({ ...script, cues: [{ ...first, text: evil }, ...others] }, words);
    expect(svg).not.toContain('<script>');
    expect(svg).toContain(escapeMarkup(evil));
    expect(escapeMarkup('a\u0000<b>\uD800"\'&')).toBe('a&lt;b&gt;&quot;&#39;&amp;');
  });
});
