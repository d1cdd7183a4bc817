import { beforeAll, describe, expect, it } from 'vitest';
import type { Exercise } from '../../src/catalogue/schema.js';
import { findingsOf } from '../../src/screening/findings.js';
import { type Interview, measures } from '../../src/screening/interview.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { readInterview } from '../../src/session/readInterview.js';

/**
 * Every precaution against every exercise. The table was written out once and read through line by line, so that a
 * change of a rule or of a load tag shows all that it changes: L leave out, C needs clearance, h do it this way, dot
 * nothing; the strictest counts. Columns in the order of the interview.
 */
const columns = [
  'spinal-fracture',
  'osteoporosis',
  'new-back-pain',
  'hip-operation',
  'knee-operation',
  'spine-operation',
  'belly-operation',
  'cannot-lie-flat',
  'position-dizziness',
  'neck-symptoms',
  'uncontrolled-blood-pressure',
  'heart-or-eye-pressure',
  'breathlessness',
  'chest-restrictions',
  'shoulder-restrictions',
  'hernia-or-pelvic-floor',
  'pregnancy',
  'fall-risk',
  'memory-problems',
  'implanted-device',
  'calf-signs',
] as const;
const table: Readonly<Record<string, string>> = {
  'abdominal-bracing': 'C.L..CChh.ChC..CC.h.L',
  'ankle-pumps': 'h.C....hh...C...C.h.L',
  'arm-reach': 'ChC..C.hhh..CCh.C.hCL',
  'arm-slides': 'ChC..C.hhh..CCh.C.hCL',
  'bent-knee-fall-out': 'ChCChC.hh...C...C.h.L',
  'body-awareness-rest': 'h.C....hh...C...C.h.L',
  bridge: 'ChLChCChh.CCCC.CC.h.L',
  'buttock-tightening': 'h.CC...hh.ChC...C.h.L',
  'deep-neck-nod': 'LhL..C.hCCChC...C.h.L',
  'elbow-opening': 'ChC..C.hhh..CCC.C.hCL',
  'hamstring-stretch': 'LCLC.C.hh.ChC.h.C.h.L',
  'hand-pumps': 'h.C....hh...C.h.C.h.L',
  'head-press': 'C.C..C.hCCChC...C.h.L',
  'heel-press': 'h.CCh..hh.ChC...C.h.L',
  'heel-slide': 'h.Chh..hh...C...C.h.L',
  'into-bed': 'h.Chhhh.h....Ch..hh.L',
  'knee-rolls': 'LCLChC.hh...C...C.h.L',
  'knee-squeeze': 'h.CCh..hh.ChC...C.h.L',
  'knee-straightening': 'h.C.h..hh...C...C.h.L',
  'knee-to-chest': 'LCLChC.hh.ChC.h.C.h.L',
  'leg-slide-out': 'h.CC...hh...C...C.h.L',
  'log-roll': 'h.Chhhh.h....Ch..hh.L',
  'lower-rib-breathing': 'h.C....hh...Ch..C.h.L',
  'muscle-relaxation': 'h.C....hh.ChC...C.h.L',
  'out-of-bed': 'h.Chhhh.h....Ch..hh.L',
  'pelvic-floor': 'C.C..CChh.ChC..hC.h.L',
  'quiet-breathing': 'h.C....hh...C...C.h.L',
  'rest-arms-open': 'ChC..C.hh...CCh.C.h.L',
  'shoulder-blade-setting': 'C.C..CChh.ChCCChC.h.L',
  'shoulder-rotation': 'h.C....hh...CCC.C.h.L',
  'sit-before-standing': 'h.Chhhh.h....Ch..hh.L',
  'stick-raise': 'ChC..C.hhh..CCh.C.hCL',
  'straight-leg-raise': 'C.LChCChh.ChC..CC.h.L',
  'thigh-press': 'h.CCh..hh.ChC...C.h.L',
  'thigh-tightening': 'h.CCh..hh.ChC...C.h.L',
  'upper-arm-press': 'C.C..CChh.ChCCChC.h.L',
};

const letters = { 'leave-out': 'L', clearance: 'C', change: 'h' };

let interview: Interview;
let exercises: Map<string, Exercise>;
beforeAll(async () => {
  const catalogues = await readCatalogues('audio-templates');
  interview = await readInterview('audio-templates', catalogues);
  exercises = new Map(catalogues.get('en')?.exercises);
});

/** The strictest measure that a precaution brings for an exercise, or undefined. */
function strictest(precaution: string, exerciseId: string) {
  const exercise = exercises.get(exerciseId);
  if (exercise === undefined) throw new Error(`there is no exercise ${exerciseId}`);
  const answers = { [precaution]: { answer: 'yes' as const, details: '' } };
  return findingsOf(answers, [exercise], interview)[0]?.rule.measure;
}

describe('precautions against exercises', () => {
  it('are as in the table, every one against every one', () => {
    expect(interview.precautions.map(({ id }) => id)).toEqual(columns);
    expect([...exercises.keys()].sort()).toEqual(Object.keys(table).sort());
    for (const [exercise, row] of Object.entries(table)) {
      const found = columns.map((precaution) => {
        const measure = strictest(precaution, exercise);
        return measure === undefined ? '.' : letters[measure];
      });
      expect(found.join(''), exercise).toBe(row);
    }
  });

  /** The cautions of the exercises were written before the rules and by themselves: whatever they name has a rule. */
  it('answer every caution that an exercise itself names', () => {
    const named: readonly [RegExp, (typeof columns)[number]][] = [
      [/vertebral fracture/i, 'spinal-fracture'],
      [/osteoporosis/i, 'osteoporosis'],
      [/new sharp back pain/i, 'new-back-pain'],
      [/hip (replacement|fracture)/i, 'hip-operation'],
      [/knee replacement/i, 'knee-operation'],
      [/(back|neck) operation/i, 'spine-operation'],
      [/operation on the belly|pelvic operation/i, 'belly-operation'],
      [/lying flat/i, 'cannot-lie-flat'],
      [/dizziness (on|or)|dizziness, fainting/i, 'position-dizziness'],
      [/inflammatory disease of the neck/i, 'neck-symptoms'],
      [/high blood pressure/i, 'heart-or-eye-pressure'],
      [/breathlessness|lung/i, 'breathlessness'],
      [/rib fracture|on the chest/i, 'chest-restrictions'],
      [
        /shoulder (replacement|or wrist|or hand)|(unstable|painful) shoulder|weak grip/i,
        'shoulder-restrictions',
      ],
      [/hernia|leaking/i, 'hernia-or-pelvic-floor'],
      [/pacemaker/i, 'implanted-device'],
      [/calf/i, 'calf-signs'],
    ];
    let checked = 0;
    for (const { id, cautions } of exercises.values()) {
      for (const caution of cautions) {
        for (const [pattern, precaution] of named) {
          if (!pattern.test(caution)) continue;
          checked += 1;
          expect(strictest(precaution, id), `${id}: ${caution}`).toBeDefined();
          // "Not until cleared" is never weaker than a clearance.
          if (!/not until cleared|leave out until cleared/i.test(caution)) continue;
          if (
            ['spinal-fracture', 'chest-restrictions', 'implanted-device', 'neck-symptoms'].includes(
              precaution,
            )
          )
            expect(strictest(precaution, id), `${id}: ${caution}`).not.toBe('change');
        }
      }
    }
    expect(checked).toBeGreaterThan(80);
  });
});

describe('rules against published guidance', () => {
  const bending = ['knee-to-chest', 'hamstring-stretch', 'knee-rolls'];
  const extending = ['head-press', 'upper-arm-press', 'shoulder-blade-setting'];

  /** Sinaki and Mikkelsen 1984 (PubMed 6487063): new fractures in 89 % after flexion, 16 % after extension exercise. */
  it('are stricter on bending and twisting than on straightening the spine', () => {
    for (const precaution of ['spinal-fracture', 'osteoporosis', 'new-back-pain']) {
      for (const bent of bending) {
        for (const straight of extending) {
          const rank = (measure: ReturnType<typeof strictest>) =>
            measure === undefined ? measures.length : measures.indexOf(measure);
          expect(rank(strictest(precaution, bent)), `${precaution}: ${bent}, ${straight}`).toBeLessThan(
            rank(strictest(precaution, straight)),
          );
        }
      }
    }
  });

  /** Giangregorio 2014, Osteoporos Int 25:821: back-extensor work lying on the back, daily, with osteoporosis. */
  it('do not hold back the extensor work that is advised with osteoporosis', () => {
    for (const exercise of extending) expect(strictest('osteoporosis', exercise)).toBeUndefined();
  });

  /** Royal Osteoporosis Society, through BMJ Best Practice: individual exercise 4 to 12 weeks after a new fracture. */
  it('ask for clearance before effort after a new spinal fracture', () => {
    for (const exercise of extending) expect(strictest('spinal-fracture', exercise)).toBe('clearance');
  });

  /** Williams 2007, Circulation 116:572 (American Heart Association): holds with held breath raise the pressure. */
  it('treat the blood pressure before holds against resistance', () => {
    for (const { id, loadTags } of exercises.values()) {
      if (!loadTags.includes('isometric-general')) continue;
      expect(strictest('uncontrolled-blood-pressure', id), id).toBe('clearance');
      expect(strictest('heart-or-eye-pressure', id), id).toBeDefined();
    }
  });
});
