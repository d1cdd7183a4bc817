import { beforeAll, describe, expect, it } from 'vitest';
import type { Catalogue } from '../../src/catalogue/catalogue.js';
import { buildScript } from '../../src/script/buildScript.js';
import { dosesHeard } from '../../src/script/doseHeard.js';
import type { Cue } from '../../src/script/timedScript.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { isWhole } from '../long.js';
import { voiceOf } from './arbitraries.js';
import { expectedWork } from './expected.js';
import { type Case, type Choice, forAllScripts as forAll } from './forAllScripts.js';
import { withTestExercises } from './testExercises.js';

/**
 * The invariants of the timed script (S1 to S10 in src/script/README.md) over random programs and random clip
 * lengths. The bounds are ours; 1000 ms a count and words inside their phase are what the invariants say.
 */

let catalogue: Catalogue;

beforeAll(async () => {
  const english = (await readCatalogues('audio-templates')).get('en');
  if (english === undefined) throw new Error('the English catalogue is missing');
  catalogue = withTestExercises(english);
});

const forAllScripts = (check: (built: Case) => void | Promise<void>, choice: Choice = {}) =>
  forAll(catalogue, check, choice);

const spoken = (cues: readonly Cue[]) => cues.filter((cue) => cue.text !== undefined);

/** All counts of a hold are spoken, or every second one, or each is a tone; anything but the first is told. */
function expectCountForm(
  { script }: Case,
  exercise: string,
  counts: readonly Cue[],
  announced: number,
): void {
  const told = (kind: string) =>
    expect(script.adjustments).toContainEqual(expect.objectContaining({ kind, exercise }));
  const tones = counts.filter(({ text, tone }) => text === undefined && tone?.direction === 'level');
  if (tones.length > 0) {
    expect([tones.length, counts.length]).toEqual([announced, announced]);
    told('counts-as-tones');
  } else if (counts.length < announced) {
    expect(counts).toHaveLength(Math.ceil(announced / 2));
    told('counts-every-second');
  }
}

describe('the timed script', () => {
  it('S1: holds the prescribed dose, once and in order', async () => {
    await forAllScripts(({ program, script }) => {
      const heard = dosesHeard(script).map(({ work }) =>
        work.map(({ set, rep, side, startMs, endMs }) => ({ set, rep, side, lengthMs: endMs - startMs })),
      );
      expect(heard).toEqual(program.exercises.map((prescribed) => expectedWork(prescribed, program)));
    });
  });

  it('S2: counts are 1000 ms apart and a hold ends on its release', async () => {
    await forAllScripts(
      ({ program, script }) => {
        script.chapters.forEach((chapter, index) => {
          const prescribed = program.exercises[index - 1];
          if (chapter.exercise === undefined || prescribed?.timing !== 'hold') return;
          const beats = script.cues.filter((cue) => cue.chapter === index && cue.beatMs !== null);
          const releases = beats.filter(({ role }) => role === 'release');
          for (const release of releases) {
            const before = beats.filter(
              ({ set, rep, side, role }) =>
                set === release.set && rep === release.rep && side === release.side && role === 'count',
            );
            for (const count of before) expect(((release.beatMs ?? 0) - (count.beatMs ?? 0)) % 1000).toBe(0);
            const wanted = { all: prescribed.dose.holdSeconds, 'last-five': 5, none: 0 }[
              program.counting.which
            ];
            const announced = Math.min(wanted, prescribed.dose.holdSeconds);
            expectCountForm({ program, script }, chapter.exercise, before, announced);
          }
        });
      },
      { runs: 80, only: ['hold'] },
    );
  });

  it('S3: every beat lies inside its own words: where a counted word is heard, where a phrase begins', async () => {
    let heardLater = 0;
    await forAllScripts(({ program, script, clip }) => {
      const offsetOf = ({ chapter, text = '' }: Cue) => {
        const timing = program.exercises[chapter - 1]?.timing;
        return timing === 'hold' || timing === 'tempo' ? (clip?.(text).beatOffsetMs ?? 0) : 0;
      };
      const beats = spoken(script.cues).filter(({ beatMs }) => beatMs !== null);
      const wrong = beats.filter((cue) => {
        const { startMs, endMs } = cue;
        const beatMs = cue.beatMs ?? 0;
        return beatMs < startMs || beatMs > endMs || beatMs - startMs !== offsetOf(cue);
      });
      expect(wrong).toEqual([]);
      heardLater += beats.filter((cue) => offsetOf(cue) > 0).length;
    });
    expect(heardLater, 'otherwise nothing was looked at').toBeGreaterThan(100);
  });

  it('S4: spoken cues and presence sounds are at least 250 ms apart', async () => {
    await forAllScripts(({ script }) => {
      const sounds = script.cues.filter((cue) => cue.text !== undefined || cue.kind === 'presence');
      const tooClose = sounds.filter(
        ({ startMs }, index) => index > 0 && startMs - (sounds[index - 1]?.endMs ?? 0) < 250,
      );
      expect(tooClose).toEqual([]);
    });
  });

  it('S5: a rest is never shorter than prescribed, and a longer one is explained', async () => {
    await forAllScripts(
      ({ program, script }) => {
        const doses = dosesHeard(script);
        program.exercises.forEach((prescribed, index) => {
          if (prescribed.timing !== 'hold' && prescribed.timing !== 'tempo') return;
          const work = doses[index]?.work ?? [];
          work.slice(1).forEach((next, before) => {
            const previous = work[before];
            if (previous === undefined) return;
            const newSet =
              next.set !== previous.set || (prescribed.side === 'both' && next.side !== previous.side);
            const restMs = (newSet ? prescribed.dose.setRestSeconds : prescribed.dose.restSeconds) * 1000;
            const grewMs = next.startMs - previous.endMs - restMs;
            expect(grewMs).toBeGreaterThanOrEqual(0);
            if (grewMs < 100) return;
            // With no rest prescribed there is nothing to grow.
            if (restMs === 0) return;
            expect(script.adjustments).toContainEqual(
              expect.objectContaining({
                kind: expect.stringMatching(/^rest-grew(-for-change)?$/),
                exercise: prescribed.exercise.id,
              }),
            );
          });
        });
      },
      { runs: 80, only: ['hold', 'tempo'] },
    );
  });

  it('S6: breath phases follow each other exactly, and words end 300 ms before their phase', async () => {
    await forAllScripts(
      ({ program, script }) => {
        const phases = script.cues.filter(({ kind }) => kind === 'breath');
        for (const cue of phases) {
          const phase = cue.phase;
          expect(phase?.startMs).toBe(cue.beatMs);
          if (phase === undefined) continue;
          const seconds = {
            in: program.breath.inSeconds,
            'pause-after-in': program.breath.pauseAfterInSeconds,
            out: program.breath.outSeconds,
            'pause-after-out': program.breath.pauseAfterOutSeconds,
          }[cue.role as 'in'];
          expect(phase.endMs - phase.startMs).toBe(Math.round(seconds * 1000));
          if (cue.text !== undefined) expect(cue.endMs).toBeLessThanOrEqual(phase.endMs - 300);
          if (cue.tone !== undefined) expect(cue.tone.endMs).toBeLessThanOrEqual(phase.endMs);
        }
        phases.slice(1).forEach((cue, index) => {
          const before = phases[index];
          if (before === undefined || before.chapter !== cue.chapter || before.set !== cue.set) return;
          const bySide = program.exercises[cue.chapter - 1]?.side === 'both';
          if (bySide && before.side !== cue.side) return;
          // Where legs change between the sides, each breath stands alone.
          const changes = script.cues.filter(
            ({ role, startMs }) => role === 'change' && startMs > before.startMs,
          );
          if (changes.some(({ startMs }) => startMs < cue.startMs)) return;
          expect(cue.phase?.startMs).toBe(before.phase?.endMs);
        });
      },
      { runs: isWhole('programs') ? 200 : 100, only: ['breath'], perWordMs: { min: 250, max: 800 } },
    );
  });

  it('S7: safety words and releases are always there, and no hold starts unprepared', async () => {
    await forAllScripts(({ program, script }) => {
      const safety = (chapter: number) =>
        script.cues.filter((cue) => cue.chapter === chapter && cue.role === 'safety').length;
      const { beforeLyingDown, openingSafety } = catalogue.phrases;
      const firstSession = program.session.number === 1;
      const spokenLines = [...beforeLyingDown, ...openingSafety].filter(
        ({ only }) => only === undefined || (only === 'first') === firstSession,
      );
      expect(safety(0)).toBe(spokenLines.length);
      // How to get up, and when to call.
      expect(safety(script.chapters.length - 1)).toBe(catalogue.phrases.closingSafety.length + 1);
      program.exercises.forEach((prescribed, index) => {
        const first = program.session.number === 1 || prescribed.isNew;
        const lines = prescribed.exercise.wording.safety.filter(
          ({ only }) => only === undefined || (only === 'first') === first,
        );
        const breathing = prescribed.timing === 'hold' ? 1 : 0;
        expect(safety(index + 1)).toBe(lines.length + breathing);
        if (prescribed.timing !== 'hold' && prescribed.timing !== 'tempo') return;
        const cues = script.cues.filter((cue) => cue.chapter === index + 1);
        const works = expectedWork(prescribed, program).length;
        expect(cues.filter(({ role }) => role === 'release')).toHaveLength(works);
        const leads = cues.filter((cue, at) => cue.role === 'prepare' && cues[at - 1]?.role !== 'prepare');
        expect(leads).toHaveLength(works);
        // The side is announced before its first set, and the repetition all the same.
        const announced = prescribed.side === 'both' ? 2 : 0;
        expect(cues.filter(({ role }) => role === 'prepare')).toHaveLength(works + announced);
      });
    });
  });

  it('S8: no silence is longer than the presence interval', async () => {
    await forAllScripts(
      ({ program, script }) => {
        let soundEndMs = 0;
        for (const cue of script.cues) {
          expect(cue.startMs - soundEndMs).toBeLessThanOrEqual(program.presenceEverySeconds * 1000);
          soundEndMs = Math.max(soundEndMs, cue.endMs, cue.tone?.endMs ?? 0);
        }
        expect(script.durationMs - soundEndMs).toBeLessThanOrEqual(program.presenceEverySeconds * 1000);
      },
      { runs: isWhole('programs') ? 150 : 80, only: ['sustained', 'hold'] },
    );
  });

  it('S9: chapters partition the session and every repetition can be resumed in silence', async () => {
    await forAllScripts(({ script }) => {
      expect(script.chapters[0]?.startMs).toBe(0);
      expect(script.chapters.at(-1)?.endMs).toBe(script.durationMs);
      script.chapters.slice(1).forEach((chapter, index) => {
        expect(chapter.startMs).toBe(script.chapters[index]?.endMs);
      });
      for (const cue of script.cues) {
        const chapter = script.chapters[cue.chapter];
        expect(cue.startMs).toBeGreaterThanOrEqual(chapter?.startMs ?? Number.POSITIVE_INFINITY);
        expect(cue.endMs).toBeLessThanOrEqual(chapter?.endMs ?? 0);
      }
      for (const point of script.resumePointsMs) {
        const cut = spoken(script.cues).filter(({ startMs, endMs }) => startMs < point && point < endMs);
        const sounding = script.cues.filter(
          ({ tone }) => tone !== undefined && tone.startMs < point && point < tone.endMs,
        );
        expect([...cut, ...sounding]).toEqual([]);
      }
      for (const { work } of dosesHeard(script)) {
        work.forEach(({ startMs }, index) => {
          const earliestMs = work[index - 1]?.endMs ?? 0;
          // The words that lead in begin after the last repetition and before the first beat of this one.
          const own = script.resumePointsMs.filter((point) => point >= earliestMs - 600 && point <= startMs);
          expect(own.length).toBeGreaterThanOrEqual(1);
          expect(startMs - Math.max(...own)).toBeLessThan(15_000);
        });
      }
    });
  });

  it('every spoken text is plain words on one line', async () => {
    await forAllScripts(({ script }) => {
      for (const { text } of spoken(script.cues)) {
        expect(text).toMatch(/^[\p{L}0-9][\p{L}0-9 .,?!'’-]*$/u);
        expect(text).not.toMatch(/ {2}|\d\.\d|undefined|null|[.,]{2}/);
      }
    });
  });

  it('a time budget is kept inside the limits, and every change is told', async () => {
    let fittedCount = 0;
    await forAllScripts(async ({ program, script }) => {
      const budget = { ...program, timeBudgetMinutes: (script.durationMs / 60_000) * 0.9 };
      const fitted = await buildScript(budget, voiceOf(1, { min: 200, max: 260 }));
      expect(fitted.durationMs).toBeLessThanOrEqual(budget.timeBudgetMinutes * 60_000);
      const heard = dosesHeard(fitted);
      program.exercises.forEach((prescribed, index) => {
        const wanted = expectedWork(prescribed, program);
        const work = heard[index]?.work ?? [];
        expect(work.length).toBeLessThanOrEqual(wanted.length);
        const total = (list: readonly { startMs: number; endMs: number }[]) =>
          list.reduce((sum, { startMs, endMs }) => sum + endMs - startMs, 0);
        if (total(work) === wanted.reduce((sum, { lengthMs }) => sum + lengthMs, 0)) return;
        fittedCount++;
        expect(fitted.adjustments).toContainEqual(
          expect.objectContaining({ kind: 'dose-fitted', exercise: prescribed.exercise.id }),
        );
      });
    });
    expect(fittedCount).toBeGreaterThan(5);
  });

  it('S10: the same program, voice and seed give the same script', async () => {
    await forAllScripts(
      async ({ program, script }) => {
        const measure = voiceOf(7, { min: 200, max: 300 });
        const attempt = () => buildScript(program, measure).then(JSON.stringify, String);
        expect(await attempt()).toBe(await attempt());
        expect(script.format).toBe('stillcount-script/1');
      },
      { runs: 20 },
    );
  });
});
