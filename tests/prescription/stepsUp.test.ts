import { describe, expect, it } from 'vitest';
import { type ReadPrescription, readPrescription } from '../../src/prescription/content.js';
import { listDoseIncreases } from '../../src/prescription/stepsUp.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';

/** What counts as more work: our choice, no published source. */

const catalogues = await readCatalogues('audio-templates');
const bridge = { exercise: 'bridge', dose: { reps: 5, holdSeconds: 3, restSeconds: 4 } };
const heel = { exercise: 'heel-slide', side: 'left' };

function read(exercises: object[], often: object = {}, more: object = {}): ReadPrescription {
  const program = { format: 'stillcount-program/1', title: 'Morning', exercises, ...more };
  return readPrescription({ format: 'stillcount-prescription/1', ...often, program }, 'version', catalogues);
}
const dosed = (dose: object) => [{ ...bridge, dose: { ...bridge.dose, ...dose } }, heel];
const before = read([bridge, heel]);

describe('what a version asks more of', () => {
  it.each([
    ['the same', read([bridge, heel]), []],
    ['another order', read([heel, bridge]), []],
    ['more repetitions', read(dosed({ reps: 6 })), ['Low bridge: repetitions']],
    ['a longer hold', read(dosed({ holdSeconds: 4 })), ['Low bridge: hold']],
    ['less rest', read(dosed({ restSeconds: 3 })), ['Low bridge: rest']],
    ['fewer repetitions and more rest', read(dosed({ reps: 4, restSeconds: 6 })), []],
    ['both sides', read([bridge, { ...heel, side: 'both' }]), ['Heel slide: both sides']],
    ['sides in turn', read([bridge, { ...heel, side: 'alternate' }]), ['Heel slide: both sides']],
    ['the other side', read([bridge, { ...heel, side: 'right' }]), []],
    ['one exercise less', read([bridge]), []],
    ['another exercise', read([bridge, heel, { exercise: 'head-press' }]), ['Straight head press']],
    ['one of them twice', read([bridge, heel, bridge]), ['Low bridge']],
    ['more often', read([bridge, heel], { timesADay: 2 }), ['sessions a week']],
    ['twice a day on fewer days', read([bridge, heel], { timesADay: 2, daysAWeek: 3 }), []],
    ['a day of the week less', read([bridge, heel], { daysAWeek: 6, weekdayTimes: { sunday: [] } }), []],
    ['a time budget', read([bridge, heel], {}, { timeBudgetMinutes: 12 }), []],
  ])('is found in %s', (_, after, expected) => {
    expect(listDoseIncreases(before, after)).toEqual(expected);
  });

  it('is all of a first version, and what a budget had kept short', () => {
    expect(listDoseIncreases(null, before)).toEqual(['Low bridge', 'Heel slide']);
    expect(listDoseIncreases(read([bridge, heel], {}, { timeBudgetMinutes: 12 }), before)).toEqual([
      'time budget',
    ]);
  });

  it('is a dose that a precaution had kept down', () => {
    const rule = {
      ...{ precaution: 'A new ache', measure: 'change', how: 'Fewer', meets: ['bridge'] },
      adapt: { atMost: { reps: 3 }, print: 'At most three.', leaveOut: [] },
    };
    const settlement = { exercises: ['bridge'], answered: 'yes', isArranged: true, rule };
    const kept = read([bridge, heel], { settlements: { ache: settlement } });
    expect(listDoseIncreases(kept, before)).toEqual(['Low bridge: repetitions']);
    expect(listDoseIncreases(before, kept)).toEqual([]);
  });
});
