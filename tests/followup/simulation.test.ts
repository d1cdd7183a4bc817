import { beforeAll, describe, expect, it } from 'vitest';
import { isWhole } from '../long.js';
import { progression } from './histories.js';
import { playAll, type Row, rowsOf, tableOf } from './simulated/table.js';
import type { Year } from './simulated/year.js';

/** A year of so many made-up people; what must be advised is worked out from how each of them behaves. */
const people = isWhole('simulation') ? 200 : 40;
const ofOneBehavior = people / 8;
let years: Map<string, Year[]>;
let rows: Row[];
beforeAll(() => {
  years = playAll(progression, people);
  rows = rowsOf(years);
});

const looksOf = (behaviour: string) => (years.get(behaviour) ?? []).flatMap(({ looks }) => looks);

describe(`a year of ${people} people`, () => {
  it('is advised on as each scenario’s own rule says, without a miss', () => {
    expect([...years.values()].flat()).toHaveLength(people);
    const missed = rows.flatMap(({ misses }) => misses);
    expect(missed, `\n${tableOf(rows)}\n`).toEqual([]);
  });

  it('misses no warning sign', () => {
    const looks = looksOf('has a warning sign').filter(({ expected }) => expected.when === 'a warning sign');
    const signed = new Set(looks.map(({ person }) => person));
    expect(signed.size, 'everybody of them was looked at while it counted').toBe(2 * ofOneBehavior);
    for (const { said, why } of looks) {
      expect(said).toBe('review');
      expect(why).toMatch(/^sign-/);
    }
  });

  it('gives no more to who is sore, and less where less there is', () => {
    const sore = rows.filter(
      ({ behaviour, when }) => behaviour === 'over-does' && /^(sore (lately|again)|put off)/.test(when),
    );
    expect(sore.length).toBeGreaterThan(0);
    for (const { said } of sore) expect(said['step-up']).toBe(0);
    const down = (years.get('over-does') ?? []).reduce((sum, { stepsDown }) => sum + stepsDown, 0);
    expect(down).toBeGreaterThan(ofOneBehavior);
  });

  it('has a clinician look at everybody in much pain, and gives them no more', () => {
    const looks = looksOf('hurts').filter(({ expected }) => expected.when === 'much pain');
    expect(new Set(looks.map(({ person }) => person)).size).toBe(ofOneBehavior);
    for (const { said, why } of looks) {
      expect(said).toBe('review');
      expect(why).toMatch(/^(pain|put-off)/);
    }
  });

  it('finds everybody who went quiet, and takes nothing from them for it', () => {
    const looks = looksOf('goes quiet');
    const quiet = looks.filter(({ expected }) => expected.when === 'quiet for a week or more');
    expect(new Set(quiet.map(({ person }) => person)).size).toBe(ofOneBehavior);
    expect(looks.filter(({ said }) => said === 'step-down')).toEqual([]);
  });

  it('leads those who improve up, one step in a week at most, and those who say nothing nowhere', () => {
    for (const { stepsUp, looks } of years.get('improves') ?? []) {
      expect(stepsUp).toBeGreaterThanOrEqual(4);
      const days = looks.filter(({ said }) => said === 'step-up').map(({ day }) => day);
      for (const [index, day] of days.slice(1).entries())
        expect(day - (days[index] ?? day)).toBeGreaterThanOrEqual(7);
    }
    for (const { stepsUp, stepsDown } of years.get('says nothing') ?? []) expect(stepsUp + stepsDown).toBe(0);
  });
});
