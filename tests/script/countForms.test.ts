import { beforeAll, describe, expect, it } from 'vitest';
import type { Catalogue } from '../../src/catalogue/catalogue.js';
import { readProgram } from '../../src/program/readProgram.js';
import { buildScript } from '../../src/script/buildScript.js';
import { dosesHeard } from '../../src/script/doseHeard.js';
import type { MeasureWordings } from '../../src/script/measure.js';
import type { Cue, TimedScript } from '../../src/script/timedScript.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';

/** Counts in a voice that is too slow for one each second: a form for the whole part, told, and the dose unchanged. */

let catalogues: ReadonlyMap<string, Catalogue>;

beforeAll(async () => {
  catalogues = await readCatalogues('audio-templates');
});

/** A voice that takes so long for a number word, and half a second for everything else. */
function voiceWith(numberMs: number, otherMs = 500, ...short: readonly string[]): MeasureWordings {
  return async (wordings) => {
    const numbers = new Set(catalogues.get('en')?.phrases.numbers.filter((each) => !short.includes(each)));
    return new Map(
      wordings.map(({ text }) => [
        text,
        { durationMs: numbers.has(text) ? numberMs : otherMs, beatOffsetMs: 50 },
      ]),
    );
  };
}

function script(exercise: string, measure: MeasureWordings, more = ''): Promise<TimedScript> {
  const text = `format: stillcount-program/1\ntitle: Test\n${more}exercises: [${exercise}]\n`;
  return buildScript(readProgram(text, 'test.yaml', catalogues), measure);
}

const countsOfFirst = (made: TimedScript): Cue[] =>
  made.cues.filter(
    ({ role, rep, set, chapter }) => role === 'count' && rep === 1 && set === 1 && chapter === 1,
  );
const textsOf = (cues: readonly Cue[]) => cues.map(({ text }) => text);

describe('the counts of a hold', () => {
  const hold = '{ exercise: head-press, dose: { reps: 3, holdSeconds: 6 } }';

  it('are all spoken where there is room', async () => {
    const made = await script(hold, voiceWith(600));
    expect(textsOf(countsOfFirst(made))).toEqual(['six', 'five', 'four', 'three', 'two', 'one']);
    expect(made.adjustments).toEqual([]);
  });

  it('are every second one where a number takes longer than its second, and it is told once', async () => {
    const made = await script(hold, voiceWith(900));
    expect(textsOf(countsOfFirst(made))).toEqual(['six', 'four', 'two']);
    expect(made.adjustments).toEqual([
      {
        kind: 'counts-every-second',
        exercise: 'head-press',
        text: expect.stringMatching(/head press: only every second count is spoken, because this voice/),
      },
    ]);
    expect(dosesHeard(made)[0]?.underTensionSeconds).toBe(18);
  });

  it('are tones where even that does not fit: one each second, on the beat, to be read as numbers', async () => {
    const made = await script(hold, voiceWith(1_900));
    const tones = countsOfFirst(made);
    expect(textsOf(tones)).toEqual(Array.from({ length: 6 }));
    expect(tones.map(({ shown }) => shown)).toEqual(['six', 'five', 'four', 'three', 'two', 'one']);
    const [first] = tones;
    tones.forEach(({ kind, beatMs, startMs, endMs, tone }, second) => {
      expect(beatMs).toBe((first?.beatMs ?? Number.NaN) + 1_000 * second);
      expect(kind).toBe('count');
      expect(startMs).toBe(beatMs);
      expect(tone).toEqual({ direction: 'level', startMs, endMs });
    });
    expect(made.adjustments.map(({ kind }) => kind)).toEqual(['counts-as-tones']);
    expect(dosesHeard(made)[0]?.underTensionSeconds).toBe(18);
  });

  it('of two seconds are tones at once: every second one would leave no rhythm', async () => {
    const made = await script(
      '{ exercise: thigh-press, side: left, dose: { reps: 3, holdSeconds: 2 } }',
      voiceWith(900),
    );
    expect(countsOfFirst(made).map(({ tone }) => tone?.direction)).toEqual(['level', 'level']);
    expect(made.adjustments.map(({ kind }) => kind)).toEqual(['counts-as-tones']);
  });

  it('keep their form when only the last five are counted', async () => {
    const made = await script(hold, voiceWith(900, 500, 'one'), 'counting: { which: last-five }\n');
    expect(textsOf(countsOfFirst(made))).toEqual(['five', 'three', 'one']);
  });
});

describe('the counts of a slow repetition', () => {
  const tempo = '{ exercise: bridge, dose: { reps: 3, liftSeconds: 2, holdSeconds: 3, lowerSeconds: 4 } }';

  it('take a form for each part, and the parts are named', async () => {
    // The part's own word takes so long that nothing fits on the second after it.
    const made = await script(tempo, voiceWith(600, 1_000));
    const counts = countsOfFirst(made);
    // Lift: its only count as a tone. Hold and lower: "three" each, on their third seconds.
    expect(counts.map(({ text, tone }) => text ?? tone?.direction)).toEqual(['level', 'three', 'three']);
    expect(
      made.adjustments.map(({ kind, text }) => `${kind} ${/\((?<parts>[^)]*)\)/.exec(text)?.groups?.parts}`),
    ).toEqual(['counts-as-tones lift', 'counts-every-second hold, lower']);
    expect(dosesHeard(made)[0]?.underTensionSeconds).toBe(27);
  });

  it('are refused where even the words of command have no room', async () => {
    await expect(script(tempo, voiceWith(600, 4_000))).rejects.toMatchObject({
      problems: [{ file: 'test.yaml', path: expect.stringMatching(/^exercises\[0\]\.dose\./) }],
    });
  });
});
