import { readFile } from 'node:fs/promises';
import { beforeAll, describe, expect, it } from 'vitest';
import { type Catalogue, parseCatalogue } from '../../src/catalogue/catalogue.js';
import { setUpSchema } from '../../src/catalogue/setUp.js';
import { speak, templateFault } from '../../src/catalogue/template.js';
import { StillcountError } from '../../src/errors/stillcountError.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';

let catalogue: Catalogue;

beforeAll(async () => {
  const english = (await readCatalogues('audio-templates')).get('en');
  if (english === undefined) throw new Error('the English catalogue is missing');
  catalogue = english;
});

describe('the English catalogue', () => {
  it('covers the program of a first visit and the bed exercises around it', () => {
    // The list is the project's brief in our own ids.
    const needed = `rest-arms-open head-press upper-arm-press arm-reach shoulder-blade-setting deep-neck-nod
      lower-rib-breathing stick-raise arm-slides shoulder-rotation abdominal-bracing pelvic-floor thigh-tightening
      buttock-tightening heel-press thigh-press ankle-pumps heel-slide straight-leg-raise bent-knee-fall-out bridge
      hamstring-stretch knee-rolls knee-to-chest muscle-relaxation body-awareness-rest log-roll into-bed out-of-bed
      sit-before-standing upper-back-roll diagonal-reach hip-flexor-edge band-pull-apart heel-prop strap-knee-bend
      pursed-lip-breathing huff-and-cough moving-up-in-bed moving-sideways-in-bed growing-long ceiling-reach
      head-turns`.split(/\s+/);
    expect([...catalogue.exercises.keys()]).toEqual(expect.arrayContaining(needed));
    expect(catalogue.exercises.size).toBeGreaterThanOrEqual(45);
  });

  it('has spoken words for every way to lie that a program can choose', () => {
    const { surface, headSupport, knees } = setUpSchema.shape;
    const { setUp } = catalogue.phrases;
    expect(Object.keys(setUp.surface).sort()).toEqual([...surface.unwrap().options].sort());
    expect(Object.keys(setUp.knees).sort()).toEqual([...knees.unwrap().options].sort());
    // Nothing under the head has sentences of its own.
    expect(['none', ...Object.keys(setUp.headSupport)].sort()).toEqual(
      [...headSupport.unwrap().options].sort(),
    );
  });

  it('rests with arms open for 5 minutes, building to 20', () => {
    // Common practice, no published source.
    const rest = catalogue.exercises.get('rest-arms-open');
    if (rest?.timing !== 'sustained') throw new Error('rest-arms-open must be sustained');
    expect(rest.dose.durationSeconds).toBe(300);
    expect(rest.limits.durationSeconds.max).toBe(1200);
    expect(rest.ladder.steps.at(-1)?.dose.durationSeconds).toBe(1200);
  });

  it('keeps back-extensor holds at the published 3 to 5 seconds by default', () => {
    // Giangregorio 2014, Osteoporos Int 25:821: press and hold 3 to 5 s, lying on the back.
    for (const id of ['head-press', 'upper-arm-press']) {
      const exercise = catalogue.exercises.get(id);
      if (exercise?.timing !== 'hold') throw new Error(`${id} must be a hold`);
      expect(exercise.dose.holdSeconds).toBeGreaterThanOrEqual(3);
      expect(exercise.dose.holdSeconds).toBeLessThanOrEqual(5);
      expect(exercise.dose.sets * exercise.dose.reps * exercise.dose.holdSeconds).toBe(25);
    }
  });

  it('keeps the band inside the published sets and repetitions, and begins below them', () => {
    // Giangregorio 2014, Osteoporos Int 25:821 (second publication): strength work 1 to 3 sets of 8 to 12.
    const band = catalogue.exercises.get('band-pull-apart');
    if (band?.timing !== 'tempo') throw new Error('band-pull-apart must be a tempo exercise');
    expect(band.limits.reps.max).toBe(12);
    expect(band.limits.sets.max).toBe(3);
    expect(band.dose.reps).toBeLessThan(8);
  });

  it('begins the stretch at the edge of the bed at the published 10 to 30 seconds', () => {
    // Stretching for older adults 10 to 30 s: European activity table.
    const stretch = catalogue.exercises.get('hip-flexor-edge');
    if (stretch?.timing !== 'sustained') throw new Error('hip-flexor-edge must be sustained');
    expect(stretch.dose.durationSeconds).toBeGreaterThanOrEqual(10);
    expect(stretch.dose.durationSeconds).toBeLessThanOrEqual(30);
  });

  it('says in every session never to cough bent forward', () => {
    // No bending forward while coughing, with osteoporosis: Bone Health and Osteoporosis Foundation, page on
    // proper body alignment.
    const cough = catalogue.exercises.get('huff-and-cough');
    expect(cough?.cautions.join(' ')).toMatch(/osteoporosis; never a hard cough.*bent forward/);
    const said = cough?.wording.safety.filter(({ only }) => only === undefined).flatMap(({ say }) => say);
    for (const form of ['full', 'short'] as const)
      expect(said?.map((phrase) => phrase[form] ?? '').join(' ')).toMatch(
        /[Nn]ever.* bend forward|hard or bend forward/,
      );
  });

  it('keeps lying over a roll short at first, and out of reach without clearance', () => {
    // Common practice, no published source.
    const roll = catalogue.exercises.get('upper-back-roll');
    if (roll?.timing !== 'sustained') throw new Error('upper-back-roll must be sustained');
    expect(roll.dose.durationSeconds).toBeLessThanOrEqual(60);
    expect(roll.loadTags).toContain('spinal-extension-over-support');
    expect(roll.cautions.join(' ')).toMatch(/fracture or osteoporosis; only after clearance/);
    expect(roll.wording.setUp[0]?.say[0]?.full).toMatch(/cleared/);
  });

  it('keeps every dose inside the outer fence of counted holds, repetitions, sets and rests', () => {
    // Our own fence: holds 1-60 s, repetitions 1-30, sets 1-5, rests 0-300 s; no published source.
    const fence: Record<string, readonly [number, number]> = {
      holdSeconds: [0, 60],
      liftSeconds: [1, 60],
      lowerSeconds: [1, 60],
      reps: [1, 30],
      sets: [1, 5],
      restSeconds: [0, 300],
      setRestSeconds: [0, 300],
    };
    for (const { id, limits } of catalogue.exercises.values()) {
      for (const [key, range] of Object.entries(limits as Record<string, { min: number; max: number }>)) {
        const [least, most] = fence[key] ?? [0, 3600];
        expect(range.min, `${id} ${key}`).toBeGreaterThanOrEqual(least);
        expect(range.max, `${id} ${key}`).toBeLessThanOrEqual(most);
      }
    }
  });

  it('has steps of every kind: longer holds, more repetitions, sets and minutes, a slower pace', () => {
    const moved = new Set(
      [...catalogue.exercises.values()].flatMap(({ ladder }) =>
        ladder.steps.flatMap(({ dose }) => Object.keys(dose)),
      ),
    );
    // Breath has no steps: its pace is this person's own, as timed in the clinic.
    const kinds = ['holdSeconds', 'reps', 'sets', 'durationSeconds', 'lowerSeconds'];
    expect([...moved]).toEqual(expect.arrayContaining(kinds));
  });

  it('flags turning and bending of the spine, and says who must clear them', () => {
    // Strong or repeated bending and twisting are the riskiest moves: Giangregorio 2014; UK consensus,
    // Brooke-Wavell 2022, Br J Sports Med 56:837.
    const tagged = [...catalogue.exercises.values()].filter(({ loadTags }) =>
      loadTags.some((tag) => tag === 'spinal-flexion' || tag === 'spinal-rotation'),
    );
    expect(tagged.length).toBeGreaterThanOrEqual(2);
    for (const { id, cautions } of tagged) {
      expect(cautions.join(' '), id).toMatch(/osteoporosis|fracture/i);
    }
  });

  it('never lets a step of a ladder be taken without the clinician', () => {
    for (const { id, ladder } of catalogue.exercises.values()) {
      if (ladder.steps.length > 0) expect(ladder.rule, id).toMatch(/clinician/i);
    }
  });

  it('says something in every exercise that stops harm', () => {
    for (const { id, wording, timing } of catalogue.exercises.values()) {
      expect(wording.safety.length, id).toBeGreaterThanOrEqual(1);
      expect(
        wording.safety.some(({ only }) => only !== 'first'),
        id,
      ).toBe(true);
      expect(timing).toBeTypeOf('string');
    }
  });
});

describe('a damaged catalogue', () => {
  async function faultOf(change: (text: string) => string): Promise<StillcountError> {
    const read = async (path: string) => ({ path, text: await readFile(path, 'utf8') });
    const phrases = await read('audio-templates/en/phrases.yaml');
    const exercise = await read('audio-templates/en/exercises/head-press.yaml');
    const damaged = { ...exercise, text: change(exercise.text) };
    expect(damaged.text).not.toBe(exercise.text);
    try {
      parseCatalogue([phrases, damaged], 'audio-templates/en');
    } catch (error) {
      if (error instanceof StillcountError) return error;
    }
    throw new Error('the damage was not noticed');
  }

  it('names the file, the line and the known keys for an unknown key', async () => {
    const error = await faultOf((text) => text.replace('purpose:', 'porpose:'));
    expect(error.message).toContain('audio-templates/en/exercises/head-press.yaml, line');
    expect(error.message).toContain('did you mean purpose?');
  });

  it('finds a section that is never closed', async () => {
    const error = await faultOf((text) => text.replace('{{/headSupport}}', ''));
    expect(error.problems[0]).toMatchObject({ path: expect.stringContaining('wording.explain[0].say') });
    expect(error.message).toMatch(/Unclosed section/);
  });

  it('finds a name that no one fills in', async () => {
    const error = await faultOf((text) => text.replaceAll('{{surface}}', '{{sofa}}'));
    expect(error.message).toContain('{{sofa}}');
  });

  it('finds a default dose outside its own limits', async () => {
    const error = await faultOf((text) => text.replace(/reps: 5/, 'reps: 500'));
    expect(error.problems[0]).toMatchObject({ path: 'dose.reps', found: '500', allowed: '3 to 12' });
  });
});

describe('templates', () => {
  it('render to clean spoken sentences', () => {
    const template = 'Rest on the {{#headSupport}}{{headSupport}}{{/headSupport}} .  Breathe  ,  {{name}}.';
    expect(speak(template, { headSupport: 'folded towel', name: 'Ana & Eva' })).toBe(
      'Rest on the folded towel. Breathe, Ana & Eva.',
    );
  });

  it('refuse partials and changed delimiters, which could hide names', () => {
    expect(templateFault('{{> other}}', ['other'])).toContain('> other');
    expect(templateFault('{{=<% %>=}}', [])).not.toBeNull();
    expect(templateFault('Plain words.', [])).toBeNull();
  });
});
