import { beforeAll, describe, expect, it } from 'vitest';
import type { Catalogue } from '../../src/catalogue/catalogue.js';
import type { PrescribedExercise, PrescribedProgram } from '../../src/program/prescribed.js';
import { readProgram } from '../../src/program/readProgram.js';
import { buildScript } from '../../src/script/buildScript.js';
import { dosesHeard } from '../../src/script/doseHeard.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { voiceOf } from './arbitraries.js';
import { changesByText, follow, isCompany, timeAfter, timedChanges } from './followChanges.js';
import { forAllScripts } from './forAllScripts.js';
import { withTestExercises } from './testExercises.js';

/**
 * The way through the postures of a session (S11 and S12 in src/script/README.md). The postures are worked out here from what
 * is heard, by a table of its own: what each change needs and where it leads. The times are ours, common practice, no
 * published source; that nobody lies down again after getting up is what the program room refuses.
 */

let catalogue: Catalogue;

beforeAll(async () => {
  const english = (await readCatalogues('audio-templates')).get('en');
  if (english === undefined) throw new Error('the English catalogue is missing');
  catalogue = withTestExercises(english);
});

describe('the way through a session', () => {
  it('S11: every change of position is possible, and nobody lies down after rising', async () => {
    await forAllScripts(catalogue, ({ program, script }) => follow(program, script), { runs: 100 });
  });

  it('S11: every change of position has its time, longer where it is new', async () => {
    let changes = 0;
    await forAllScripts(
      catalogue,
      ({ program, script }) => {
        for (const { cue, leastMs } of timedChanges(program, script)) {
          changes++;
          expect(timeAfter(catalogue, script, cue), cue.text).toBeGreaterThanOrEqual(leastMs);
        }
      },
      { runs: 100 },
    );
    expect(changes).toBeGreaterThan(100);
  });

  it('S11: in a long wait a voice says that there is no hurry, and nothing is silent for 12 s', async () => {
    let long = 0;
    await forAllScripts(
      catalogue,
      ({ program, script }) => {
        for (const { cue, leastMs } of timedChanges(program, script)) {
          if (leastMs < 12_000) continue;
          const inside = script.cues.filter(
            ({ startMs }) => startMs >= cue.endMs && startMs < cue.endMs + leastMs,
          );
          expect(inside.some(({ kind }) => kind === 'presence')).toBe(true);
          let soundEndMs = cue.endMs;
          for (const { startMs, endMs } of inside) {
            expect(startMs - soundEndMs).toBeLessThanOrEqual(12_000);
            soundEndMs = Math.max(soundEndMs, endMs);
          }
          expect(cue.endMs + leastMs - soundEndMs).toBeLessThanOrEqual(12_000);
          if (leastMs < 15_000) continue;
          long++;
          const voices = inside.filter(({ text }) => isCompany(catalogue, text));
          expect(voices).toHaveLength(1);
          const middleMs = cue.endMs + leastMs / 2;
          expect(voices[0]?.startMs).toBeLessThanOrEqual(middleMs);
          expect(voices[0]?.endMs).toBeGreaterThanOrEqual(middleMs - 24);
        }
      },
      { runs: 100 },
    );
    expect(long).toBeGreaterThan(50);
  });

  it('S12: an explanation is the last thing before the work, and the command comes within 10 s', async () => {
    let explained = 0;
    await forAllScripts(
      catalogue,
      ({ program, script }) => {
        script.cues.forEach((cue, index) => {
          if (cue.role !== 'explanation') return;
          const position = positionOf(program.exercises[cue.chapter - 1]);
          const rest = script.cues.slice(index + 1);
          const beat = rest.find(({ beatMs }) => beatMs !== null);
          const between = rest.slice(0, beat === undefined ? 0 : rest.indexOf(beat));
          for (const { role, text } of between) {
            if (position.has(text ?? '')) continue;
            expect(['explanation', 'prepare', 'start', 'presence']).toContain(role);
          }
          if (between.some(({ role }) => role === 'explanation')) return;
          explained++;
          expect((beat?.beatMs ?? Number.NaN) - cue.endMs).toBeLessThanOrEqual(10_000);
        });
      },
      // Up to 800 ms a word: slower than any voice at the least rate that a program may have (80 words a minute).
      { runs: 150, perWordMs: { min: 250, max: 800 } },
    );
    expect(explained).toBeGreaterThan(10);
  });
});

/** Only the starting position may stand between the explanation and the work. */
function positionOf(prescribed: PrescribedExercise | undefined): ReadonlySet<string> {
  const phrases = prescribed?.exercise.wording.startingPosition.flatMap(({ say }) => say) ?? [];
  return new Set(phrases.flatMap(({ full, short }) => [full, short ?? full]));
}

const voice = voiceOf(3, { min: 300, max: 340 });

function read(lines: string): PrescribedProgram {
  const text = `format: stillcount-program/1\ntitle: Test\n${lines}`;
  return readProgram(text, 'test.yaml', new Map([['en', catalogue]]));
}

async function changesHeard(lines: string): Promise<string[]> {
  const script = await buildScript(read(lines), voice);
  const known = changesByText(catalogue);
  return script.cues.flatMap(({ role, text, side, chapter }) => {
    const change = role === 'change' ? known.get(text ?? '') : undefined;
    if (change === undefined) return [];
    const named = /\b(left|right)\b/.test(text ?? '') ? ` ${change.side}` : '';
    return [`${chapter}${side === undefined ? '' : side} ${change.name}${named}`];
  });
}

describe('each change', () => {
  it.each([
    ['lying down from standing, in the opening', 'head-press', ['0 lyingDown', '0 lyingDown', '0 lyingDown']],
    ['sitting on the edge before getting into bed', 'into-bed', ['1 sittingDown']],
    ['onto the side', 'test-on-the-side', ['0 sittingDown', '0 loweringToSide']],
    ['both legs straight', 'test-legs-straight', ['1 straighteningLegs']],
    ['a pillow under the knees', 'test-pillow', ['1 placingKneePillow']],
    ['nothing where nothing differs', 'bridge', []],
  ])('leads %s', async (_, exercise, expected) => {
    const heard = await changesHeard(`session: { number: 1 }\nexercises: [{ exercise: ${exercise} }]\n`);
    expect(
      heard.filter(
        (change) => !change.endsWith('lyingDown') || expected.some((each) => each.endsWith('lyingDown')),
      ),
    ).toEqual(expected);
  });

  it.each([
    [
      'bent to straight and back',
      ['test-legs-straight', 'bridge'],
      ['2 straighteningLegs', '3 bendingKnees'],
    ],
    [
      'straight from over a pillow',
      ['test-pillow', 'test-legs-straight'],
      ['2 placingKneePillow', '3 removingKneePillow', '3 straighteningLegs'],
    ],
    [
      'the pillow away before rolling',
      ['test-pillow', 'out-of-bed'],
      ['2 placingKneePillow', '3 removingKneePillow'],
    ],
    ['to the side and onto the back', ['test-on-the-side', 'bridge'], ['2 rollingToSide', '3 rollingToBack']],
    [
      'knees bent before rolling',
      ['test-legs-straight', 'test-on-the-side'],
      ['2 straighteningLegs', '3 bendingKnees', '3 rollingToSide'],
    ],
    [
      'onto the back after an exercise that ends on the side',
      ['test-ends-on-the-side', 'bridge'],
      ['3 rollingToBack'],
    ],
  ])('leads %s', async (_, exercises, expected) => {
    const list = ['bridge', ...exercises].map((exercise) => `{ exercise: ${exercise} }`).join(', ');
    const heard = await changesHeard(`session: { number: 2 }\nexercises: [${list}]\n`);
    expect(heard.filter((change) => !change.startsWith('0'))).toEqual(expected);
  });

  it.each([
    ['left', ['1 straighteningOneLeg left']],
    ['right', ['1 straighteningOneLeg right']],
    ['both', ['1 straighteningOneLeg left', '1 changingLegs right']],
  ])('of legs names them: %s', async (side, expected) => {
    const dose = 'reps: 3';
    const heard = await changesHeard(
      `session: { number: 2 }\nexercises: [{ exercise: test-one-leg-hold, side: ${side}, dose: { ${dose} } }]\n`,
    );
    expect(heard.filter((change) => !change.startsWith('0'))).toEqual(expected);
  });

  it('of legs comes before each repetition of the other side', async () => {
    const heard = await changesHeard(
      'session: { number: 2 }\nexercises: [{ exercise: test-one-leg-hold, side: alternate, dose: { reps: 3 } }]\n',
    );
    const back = ['1 changingLegs left', '1 changingLegs right'];
    expect(heard.slice(2)).toEqual(['1 straighteningOneLeg left', '1 changingLegs right', ...back, ...back]);
  });

  it('goes from one leg to both, and to the other leg of the next exercise', async () => {
    const heard = await changesHeard(`session: { number: 2 }
exercises:
  - { exercise: test-one-leg-hold, side: left }
  - { exercise: test-one-leg-rest, side: right, setUp: { knees: straight } }
  - { exercise: bridge }
  - { exercise: test-legs-straight }
  - { exercise: test-one-leg-hold, side: left }
  - { exercise: test-legs-straight }
`);
    expect(heard.slice(2)).toEqual([
      '1 straighteningOneLeg left',
      '2 changingLegs right',
      '3 bendingBothFromOne right',
      '4 straighteningLegs',
      '5 bendingOneKnee left',
      '6 straighteningBothFromOne left',
    ]);
  });

  it('uses the set-up of the exercise where it is allowed, else how the legs lie, else what it prefers', async () => {
    const one = (setUp: string) =>
      changesHeard(
        `session: { number: 2 }\nexercises: [{ exercise: arm-slides, setUp: { knees: ${setUp} } }]\n`,
      );
    expect((await one('straight')).slice(2)).toEqual(['1 straighteningLegs']);
    expect((await one('over-pillow')).slice(2)).toEqual(['1 placingKneePillow']);
    expect((await one('bent')).slice(2)).toEqual([]);
  });

  it('takes one breath at a time where legs change between the breaths, and all of them', async () => {
    const program = read(
      'exercises: [{ exercise: test-one-leg-breath, side: alternate, dose: { sets: 1, reps: 3 } }]\n',
    );
    const made = await buildScript(program, voice);
    const known = changesByText(catalogue);
    const between = made.cues.filter(({ text }) => known.get(text ?? '')?.name === 'changingLegs');
    expect(between).toHaveLength(5);
    expect(dosesHeard(made)[0]?.work.map(({ rep, side }) => `${rep} ${side}`)).toEqual([
      '1 left',
      '1 right',
      '2 left',
      '2 right',
      '3 left',
      '3 right',
    ]);
  });
});

describe('what an exercise says itself', () => {
  const roll = `session: { number: 2 }
counting: { which: all }
exercises: [{ exercise: test-roll-under-knee, side: both, dose: { sets: 1, reps: 3, setRestSeconds: 15 } }]
`;

  it('is given its time too: laying out, changing sides, taking away after the end', async () => {
    const made = await buildScript(read(roll), voice);
    const wordsThat = (pattern: RegExp) => made.cues.filter(({ text }) => pattern.test(text ?? ''));
    const [ready] = wordsThat(/^Have the roll/);
    const moved = wordsThat(/^Move the roll/);
    const [away] = wordsThat(/^Take the roll/);
    expect(moved.map(({ text }) => text)).toEqual(['Move the roll, and change to your right leg.']);
    const last = made.cues.findLast(({ role, chapter }) => role === 'finish' && chapter === 1);
    expect(away?.startMs).toBeGreaterThan(last?.endMs ?? Number.POSITIVE_INFINITY);
    for (const cue of [ready, ...moved, away]) {
      expect(cue?.role).toBe('change');
      if (cue !== undefined) expect(timeAfter(catalogue, made, cue)).toBeGreaterThanOrEqual(15_000);
    }
  });

  it('makes a rest longer where it needs the time, and says why', async () => {
    const made = await buildScript(read(roll), voice);
    expect(made.adjustments.map(({ kind }) => kind)).toContain('rest-grew-for-change');
    expect(made.adjustments.map(({ text }) => text).join(' ')).toMatch(
      /instead of 15 s, to allow the patient's own time for moving what lies/,
    );
    const roomy = await buildScript(read(roll.replace('setRestSeconds: 15', 'setRestSeconds: 60')), voice);
    expect(roomy.adjustments).toEqual([]);
  });

  it('in a talk shares one time among the lines that are timed as one', async () => {
    const intoBed = catalogue.exercises.get('into-bed');
    if (intoBed?.timing !== 'talk') throw new Error('into-bed is a talk');
    const setUp = intoBed.wording.setUp.map(({ pauseAfterSeconds: _pause, ...line }) => ({
      ...line,
      takes: 'lying-down' as const,
    }));
    const changed = { ...intoBed, wording: { ...intoBed.wording, setUp } };
    const own = { ...catalogue, exercises: new Map([...catalogue.exercises, ['into-bed', changed]]) };
    const text =
      'format: stillcount-program/1\ntitle: Test\nsession: { number: 2 }\nchangeTimes: { lyingDownSeconds: 80 }\nexercises: [{ exercise: into-bed }]\n';
    const made = await buildScript(readProgram(text, 'test.yaml', new Map([['en', own]])), voice);
    const lines = made.cues.filter(
      ({ chapter, role, text: said }) => chapter === 1 && role === 'change' && !isCompany(catalogue, said),
    );
    const [sitting, ...parts] = lines.map((cue) => timeAfter(catalogue, made, cue));
    expect(sitting).toBeGreaterThanOrEqual(20_000);
    expect(parts).toHaveLength(setUp.length);
    for (const partMs of parts) {
      expect(partMs).toBeGreaterThanOrEqual(80_000 / setUp.length);
      expect(partMs).toBeLessThan(80_000 / setUp.length + 3_000);
    }
  });

  it('can be heard again from before each change', async () => {
    const made = await buildScript(read(roll), voice);
    const changes = made.cues.filter(({ role, text }) => role === 'change' && !isCompany(catalogue, text));
    for (const { startMs } of changes) {
      const before = made.resumePointsMs.filter((point) => point <= startMs).at(-1) ?? 0;
      expect(startMs - before).toBeLessThanOrEqual(600);
    }
  });
});

describe('things to lay out', () => {
  it('name the pillow for the knees where a posture needs one, before lying down', async () => {
    const made = await buildScript(read('exercises: [{ exercise: test-pillow }]\n'), voice);
    const texts = made.cues.filter(({ chapter }) => chapter === 0).map(({ text }) => text ?? '');
    const pillow = texts.findIndex((text) => /pillow for your knees/.test(text));
    expect(pillow).toBeGreaterThanOrEqual(0);
    expect(pillow).toBeLessThan(texts.findIndex((text) => /onto your side/.test(text)));
  });
});

describe('the closing', () => {
  it.each([
    ['lying', 'bridge', /[Rr]oll onto your side first/],
    ['sitting', 'log-roll', /Sit|sitting/],
    ['standing', 'out-of-bed', /[Kk]eep hold of something steady/],
  ])('tells how to get up from %s', async (where, exercise, expected) => {
    const made = await buildScript(read(`exercises: [{ exercise: ${exercise} }]\n`), voice);
    const texts = made.cues
      .filter(({ chapter }) => chapter === 2)
      .map(({ text }) => text ?? '')
      .join(' ');
    expect(texts).toMatch(expected);
    if (where !== 'lying') expect(texts).not.toMatch(/roll onto/i);
  });

  it('takes the pillow away first, where there is one', async () => {
    const made = await buildScript(read('exercises: [{ exercise: test-pillow }]\n'), voice);
    expect(made.cues.at(-1)?.chapter).toBe(2);
    expect(
      made.cues
        .filter(({ chapter }) => chapter === 2)
        .map(({ text }) => text)
        .join(' '),
    ).toMatch(/[Tt]ake the pillow out/);
  });
});
