import { readFile } from 'node:fs/promises';
import { describe, expect, it } from 'vitest';
import { importantPain } from '../../src/followup/course.js';
import { parseProgression } from '../../src/followup/progression.js';
import { refusalOf } from '../refusal.js';
import { catalogues, progression } from './histories.js';

const file = 'audio-templates/en/progression.yaml';
const catalogue = catalogues.get('en');
if (catalogue === undefined) throw new RangeError('there are English exercises');
const text = await readFile(file, 'utf8');

describe('the rules of progression', () => {
  it('hold the published size of a real change of pain', () => {
    // Farrar et al. 2001, Pain 94:149-158: about 2 points of 10, or 30 %.
    expect(progression.program.importantPainPoints.value).toBe(2);
    expect(importantPain, 'what pictures and sentences go by').toEqual({ points: 2, share: 0.3 });
    expect(progression.program.importantPainPoints.source).toMatchObject({
      kind: 'published',
      text: expect.stringMatching(/Farrar 2001, Pain 94:149-158/),
    });
    // The B3E trial of home exercise after vertebral fracture aimed at 60 % of weeks.
    expect(progression.program.leastShareDone.value).toBe(0.6);
    expect(progression.program.leastShareDone.source.text).toMatch(/B3E.*weeks/);
  });

  it('say of every number whether it is published, and of every other that it is not', () => {
    const numbers = [
      ...Object.values(progression.program),
      ...[...progression.rules.values()].flatMap((rule) => Object.values(rule.numbers)),
    ];
    expect(numbers.length).toBeGreaterThanOrEqual(23);
    for (const { source } of numbers) {
      if (source.kind === 'common-practice') expect(source.text).toMatch(/no published source/);
      else expect(source.text).toMatch(/\d{4}|B3E/);
    }
  });

  it('say what makes a clinician look, as common practice has it', () => {
    // How steep and how often are conventions of the trade, with no published source.
    const { reviewRise, unwellTimes, unwellDays } = progression.program;
    expect([reviewRise.value, unwellTimes.value, unwellDays.value]).toEqual([4, 2, 14]);
    for (const { source } of [reviewRise, unwellTimes, unwellDays]) {
      expect(source).toMatchObject({ kind: 'common-practice' });
    }
  });

  it('call pain severe as it was published, and what is asked of it as ours', () => {
    // Serlin et al. 1995, Pain 61:277-284: 1 to 4 mild, 5 and 6 moderate, 7 to 10 severe, in cancer pain (abstract read).
    const { reviewPain, severePain, brokenOff, effortRise } = progression.program;
    expect(reviewPain).toMatchObject({ value: 7, source: { kind: 'published' } });
    expect(reviewPain.source.text).toMatch(/Serlin 1995.*cancer pain.*our choice/s);
    expect(severePain.value).toBeGreaterThan(reviewPain.value);
    expect([severePain.value, brokenOff.value, effortRise.value]).toEqual([8, 3, 2]);
    for (const { source } of [severePain, brokenOff, effortRise]) expect(source.text).toMatch(/our choice/);
  });

  it('are named by every ladder with steps, and by no other', () => {
    for (const { id, ladder } of catalogue.exercises.values()) {
      expect(ladder.progression !== undefined, id).toBe(ladder.steps.length > 0);
    }
    // Breathing and rest are to be easy; everything else is meant to cost some effort.
    const easy = [...catalogue.exercises.values()].filter(({ ladder }) => ladder.progression === 'easy-rest');
    expect(easy.map(({ id }) => id).sort()).toEqual([
      'body-awareness-rest',
      'lower-rib-breathing',
      'pursed-lip-breathing',
      'quiet-breathing',
      'rest-arms-open',
      'upper-back-roll',
    ]);
  });
});

describe('a file of rules', () => {
  const refused = (changed: string) => refusalOf(() => parseProgression(changed, file, catalogue));

  it('that is wrong is named with the place', () => {
    expect(parseProgression(text, file, catalogue)).toEqual(progression);
    expect(refused(text.replace('value: 0.6', 'value: 60'))).toMatch(
      /progression\.yaml, line \d+, program\.leastShareDone\.value/,
    );
    expect(refused(text.replace(/ {4}source: .*signs?.*\n/i, ''))).toMatch(/program\.\w+\.source|source/);
    expect(refused(text.replaceAll('value: 7\n', 'value: 1\n'))).toContain('tooMuchEffort');
    expect(refused(text.replace('id: easy-rest', 'id: steady-work'))).toMatch(/rules\[1\]\.id.*twice/);
  });

  it('whose numbers are not those of the ladders’ words names the exercise', () => {
    const more = text.replace(/(mostEffort:\n\s+value: )4/, '$15');
    expect(refused(more)).toMatch(/exercises\/head-press\.yaml, ladder\.rule.*effort at most/);
    const fewer = text.replace(/(sessionsInARow:\n\s+value: )3/, '$12');
    expect(refused(fewer)).toMatch(/exercises\/head-press\.yaml, ladder\.rule.*sessions in a row/);
    expect(refused(text.replace('id: easy-rest', 'id: another'))).toMatch(
      /exercises\/quiet-breathing\.yaml, ladder\.progression.*no such rule/,
    );
  });
});
