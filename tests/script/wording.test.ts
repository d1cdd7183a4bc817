import { beforeAll, describe, expect, it } from 'vitest';
import type { Catalogue } from '../../src/catalogue/catalogue.js';
import { readProgram } from '../../src/program/readProgram.js';
import { buildScript } from '../../src/script/buildScript.js';
import { exerciseContext, isHeard } from '../../src/script/context.js';
import { dosesHeard } from '../../src/script/doseHeard.js';
import { coachingShare, isKept } from '../../src/script/fading.js';
import type { TimedScript } from '../../src/script/timedScript.js';
import { choose } from '../../src/script/variety.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { voiceOf } from './arbitraries.js';

let catalogues: ReadonlyMap<string, Catalogue>;

beforeAll(async () => {
  catalogues = await readCatalogues('audio-templates');
});

const voice = voiceOf(3, { min: 300, max: 340 });

function script(lines: string, speaker = voice): Promise<TimedScript> {
  const text = `format: stillcount-program/1\ntitle: Test\n${lines}`;
  return buildScript(readProgram(text, 'test.yaml', catalogues), speaker);
}

const twoExercises = `exercises:
  - { exercise: rest-arms-open, dose: { durationSeconds: 600 } }
  - { exercise: head-press, dose: { reps: 10, restSeconds: 8 } }
`;

const textsOf = (made: TimedScript, role: string) =>
  made.cues.filter((cue) => cue.role === role).map(({ text }) => text);

describe('coaching that fades', () => {
  it('speaks fewer reminders in later sessions and none when quiet, safety words always', async () => {
    const sessions = await Promise.all(
      [1, 5, 10, 30].map((number) => script(`session: { number: ${number} }\n${twoExercises}`)),
    );
    const reminders = sessions.map((made) => textsOf(made, 'coaching').length);
    expect(reminders).toEqual([...reminders].sort((a, b) => b - a));
    expect(reminders[0]).toBeGreaterThan((reminders[3] ?? 0) * 2);
    const quiet = await script(`coaching: quiet\nsession: { number: 30 }\n${twoExercises}`);
    expect(textsOf(quiet, 'coaching')).toEqual([]);
    expect(textsOf(quiet, 'safety').length).toBe(textsOf(sessions[3] ?? quiet, 'safety').length);
    expect(dosesHeard(quiet)).toHaveLength(2);
  });

  it('keeps an even share', () => {
    expect([0, 1, 2, 3, 4, 5].map((index) => isKept(index, 0.5))).toEqual([
      false,
      true,
      false,
      true,
      false,
      true,
    ]);
    expect([0, 1, 2, 3, 4, 5].filter((index) => isKept(index, 1 / 3))).toEqual([2, 5]);
    expect(coachingShare('full', 100)).toBe(1);
  });

  // The steps are ours, no published source.
  it('S15: fades by a step after sessions 3, 7 and 14', () => {
    const shares = [1, 3, 4, 7, 8, 14, 15, 40].map((number) => coachingShare('fading', number));
    expect(shares).toEqual([1, 1, 0.75, 0.75, 0.5, 0.5, 1 / 3, 1 / 3]);
  });
});

describe('variety', () => {
  it('greets and reminds in other words on other days, with the same words of command', async () => {
    const days = await Promise.all(
      [12, 13, 14, 15, 16].map((number) => script(`session: { number: ${number} }\n${twoExercises}`)),
    );
    const whole = days.map((made) => made.cues.map(({ text }) => text).join(' '));
    expect(new Set(whole).size).toBe(5);
    for (const made of days) expect(new Set(textsOf(made, 'release')).size).toBe(1);
  });

  it('chooses every wording about equally often', () => {
    const counts = [0, 0, 0];
    for (let key = 0; key < 3_000; key++)
      counts[choose(3, 1, 'greeting', key)] = (counts[choose(3, 1, 'greeting', key)] ?? 0) + 1;
    for (const count of counts) expect(Math.abs(count - 1_000)).toBeLessThan(150);
  });
});

describe('a time budget', () => {
  it('shortens wording, then durations, then repetitions, and says what it changed', async () => {
    const whole = await script(`session: { number: 1 }\n${twoExercises}`);
    const minutes = Math.floor(whole.durationMs / 60_000) - 6;
    const fitted = await script(`timeBudgetMinutes: ${minutes}\nsession: { number: 1 }\n${twoExercises}`);
    expect(fitted.durationMs).toBeLessThanOrEqual(minutes * 60_000);
    // Not cut further than a step or two below what was asked.
    expect(fitted.durationMs).toBeGreaterThan((minutes - 1.5) * 60_000);
    expect(fitted.adjustments.map(({ kind }) => kind)).toContain('dose-fitted');
    const [rest, press] = dosesHeard(fitted);
    expect((rest?.work[0]?.endMs ?? 0) - (rest?.work[0]?.startMs ?? 0)).toBeLessThan(600_000);
    expect(press?.work.every(({ startMs, endMs }) => endMs - startMs === 5_000)).toBe(true);
    expect(textsOf(fitted, 'safety').length).toBe(textsOf(whole, 'safety').length);
    expect(fitted.adjustments.find(({ kind }) => kind === 'dose-fitted')?.text).toMatch(
      /: seconds \d+ instead of 600, to fit the time budget\.$/,
    );
  });

  it('reports each reduction of an exercise that is listed twice', async () => {
    const twice = `session: { number: 2 }
exercises:
  - { exercise: head-press, dose: { reps: 10 } }
  - { exercise: head-press, dose: { reps: 6 } }
`;
    const whole = await script(twice);
    const budget = Math.floor(whole.durationMs / 6_000 - 8) / 10;
    const fitted = await script(`timeBudgetMinutes: ${budget}\n${twice}`);
    const changed = dosesHeard(fitted).filter(({ work }, index) => work.length !== [10, 6][index]).length;
    expect(changed).toBeGreaterThanOrEqual(1);
    expect(fitted.adjustments.filter(({ kind }) => kind === 'dose-fitted')).toHaveLength(changed);
    // From session 2 on the set-up wording is short anyway: no claim that the budget shortened it.
    expect(fitted.adjustments.map(({ kind }) => kind)).not.toContain('wording-shortened');
  });

  it('changes nothing when there is time enough', async () => {
    const whole = await script(twoExercises);
    const roomy = await script(`timeBudgetMinutes: 60\n${twoExercises}`);
    expect(roomy).toEqual(whole);
  });

  it('that the limits cannot meet is refused with the least that can be done', async () => {
    await expect(script(`timeBudgetMinutes: 2\n${twoExercises}`)).rejects.toMatchObject({
      kind: 'input',
      problems: [
        {
          file: 'test.yaml',
          path: 'timeBudgetMinutes',
          found: '2 minutes',
          allowed: expect.stringMatching(/^at least /),
        },
      ],
    });
  });
});

describe('before lying down', () => {
  it('the reasons not to begin and the things to lay out are said first', async () => {
    const made = await script('exercises: [{ exercise: stick-raise }]\n');
    const texts = made.cues.filter(({ chapter }) => chapter === 0).map(({ text }) => text ?? '');
    const place = (part: RegExp) => texts.findIndex((text) => part.test(text));
    expect(place(/do not begin/)).toBeGreaterThanOrEqual(0);
    expect(place(/do not begin/)).toBeLessThan(place(/your stick within reach/));
    expect(place(/your stick within reach/)).toBeLessThan(place(/onto your side/));
    expect(place(/onto your side/)).toBeLessThan(place(/onto your back/));
  });

  it('the opening leaves the lying down to an exercise that leads from sitting to lying', async () => {
    const made = await script('exercises: [{ exercise: into-bed }]\n');
    const texts = made.cues.filter(({ chapter }) => chapter === 0).map(({ text }) => text ?? '');
    expect(texts.join(' ')).not.toMatch(/onto your (side|back)/);
  });
});

describe('S16: a line for some sessions only', () => {
  it.each([
    [1, false, ['always', 'first']],
    [1, true, ['always', 'first']],
    [2, false, ['always', 'later']],
    [2, true, ['always', 'first']],
    [30, false, ['always', 'later']],
  ])('S16: is said in session %i, where the exercise is new: %s', (number, isNew, expected) => {
    const text = `format: stillcount-program/1\ntitle: Test\nsession: { number: ${number} }\nexercises: [{ exercise: bridge, isNew: ${isNew} }]\n`;
    const program = readProgram(text, 'test.yaml', catalogues);
    const [bridge] = program.exercises;
    const [line] = bridge?.exercise.wording.setUp ?? [];
    if (bridge === undefined || line === undefined) throw new RangeError('a bridge has a set-up');
    const context = exerciseContext(program, false, bridge, null);
    const heard = (['always', 'first', 'later'] as const).filter((kind) =>
      isHeard(context, { ...line, only: kind === 'always' ? undefined : kind }),
    );
    expect(heard).toEqual(expected);
  });
});

describe('an exercise that is new in a later session', () => {
  it('is explained as in a first session, the others stay short', async () => {
    const lines = (isNew: boolean) =>
      script(
        `session: { number: 9 }\nexercises: [{ exercise: bridge, isNew: ${isNew} }, { exercise: heel-slide, side: left }]\n`,
      );
    const [known, explained] = [await lines(false), await lines(true)];
    const spoken = (made: TimedScript, exercise: string) =>
      made.cues.flatMap((cue) =>
        cue.exercise === exercise && cue.role === 'instruction' ? (cue.text ?? '').split(' ') : [],
      ).length;
    expect(spoken(explained, 'bridge')).toBeGreaterThan(spoken(known, 'bridge'));
    expect(spoken(explained, 'heel-slide')).toBe(spoken(known, 'heel-slide'));
  });
});

describe('time under tension', () => {
  it('of five presses of five seconds is 25 seconds', async () => {
    // 5 x 5 s = 25 s; common practice, no published source beyond the arithmetic.
    const made = await script('exercises: [{ exercise: head-press, dose: { reps: 5, holdSeconds: 5 } }]\n');
    expect(dosesHeard(made)[0]?.underTensionSeconds).toBe(25);
  });
});

describe('breathing pace', () => {
  it('of 4 seconds in and 6 out is six breaths a minute', async () => {
    // Resonance pace, about 6 a minute (0.1 Hz): Shao et al. 2024, Mindfulness; the abstract was read.
    const made = await script(
      'breath: { inSeconds: 4, outSeconds: 6 }\nexercises: [{ exercise: quiet-breathing, dose: { sets: 1 } }]\n',
    );
    const ins = made.cues.filter(({ role }) => role === 'in').map(({ beatMs }) => beatMs ?? 0);
    expect(ins.length).toBeGreaterThan(3);
    ins.slice(1).forEach((beatMs, index) => {
      expect(60_000 / (beatMs - (ins[index] ?? 0))).toBe(6);
    });
  });

  it('too quick for its words is refused, naming the phase', async () => {
    const slowVoice = voiceOf(3, { min: 800, max: 900 });
    const quick = script('breath: { inSeconds: 1 }\nexercises: [{ exercise: quiet-breathing }]\n', slowVoice);
    await expect(quick).rejects.toMatchObject({
      kind: 'input',
      problems: [
        { file: 'test.yaml', path: 'breath.inSeconds', found: expect.stringContaining('which takes') },
      ],
    });
  });
});
