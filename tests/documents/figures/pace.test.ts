import { describe, expect, it } from 'vitest';
import { catalogueFigure } from '../../../src/documents/figures/exerciseFigure.js';
import { movingSvg } from '../../../src/documents/figures/movingSvg.js';
import { movementPace } from '../../../src/documents/figures/pace.js';
import { catalogue, prescriptionOf } from '../papers.js';

const { program } = prescriptionOf(40);
const exercises = [...(catalogue?.exercises.values() ?? [])];
const figureWords = catalogue?.figureWords ?? null;

describe('a figure that moves', () => {
  it('is never faster than the session counts it', () => {
    const paced = program.exercises.flatMap((prescribed) => {
      const pace = movementPace(prescribed, program.breath);
      return pace === null ? [] : [{ prescribed, pace }];
    });
    expect(paced.length).toBeGreaterThan(20);
    for (const { prescribed, pace } of paced) {
      const { timing, dose, exercise } = prescribed;
      const wholeSeconds = pace.outSeconds + pace.staySeconds + pace.backSeconds + pace.restSeconds;
      if (timing === 'hold') {
        expect(pace.outSeconds + pace.staySeconds, exercise.id).toBeGreaterThanOrEqual(dose.holdSeconds);
        expect(wholeSeconds, exercise.id).toBeGreaterThanOrEqual(dose.holdSeconds + dose.restSeconds);
      }
      if (timing === 'tempo') {
        expect([pace.outSeconds, pace.staySeconds, pace.backSeconds], exercise.id).toEqual([
          dose.liftSeconds,
          dose.holdSeconds,
          dose.lowerSeconds,
        ]);
        expect(pace.restSeconds, exercise.id).toBeGreaterThanOrEqual(dose.restSeconds);
      }
      if (timing === 'breath') expect(wholeSeconds, exercise.id).toBe(9);
    }
  });

  it('stays still for what is taken up once, and for what is only told', () => {
    const still = program.exercises.filter((each) => movementPace(each, program.breath) === null);
    expect(still.map(({ timing }) => timing)).not.toContain('hold');
    for (const prescribed of still)
      expect(['sustained', 'talk'], prescribed.exercise.id).toContain(prescribed.timing);
  });

  it('begins in its first pose, and carries every step that a stroke takes', () => {
    let moving = 0;
    for (const exercise of exercises) {
      const svg = movingSvg(catalogueFigure(exercise, figureWords)?.way ?? [], 'It "moves"');
      if (svg === null) continue;
      moving += 1;
      expect(svg, exercise.id).toContain('aria-label="It &quot;moves&quot;"');
      expect(svg.length, exercise.id).toBeLessThan(30_000);
      const strokes = [...svg.matchAll(/<path[^>]* data-steps="([^"]+)"[^>]* d="([^"]+)"/g)];
      expect(strokes.length, exercise.id).toBeGreaterThan(0);
      for (const [, steps = '', d = ''] of strokes) {
        const all = steps.split(';');
        expect(all[0], exercise.id).toBe(d);
        expect([5, 9], exercise.id).toContain(all.length);
      }
    }
    expect(moving).toBeGreaterThan(10);
  });
});
