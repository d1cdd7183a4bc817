import { beforeAll, describe, expect, it } from 'vitest';
import type { Exercise } from '../../src/catalogue/schema.js';
import { findingsOf, type Loaded, lyingDownAndGettingUp } from '../../src/screening/findings.js';
import { type Interview, measures } from '../../src/screening/interview.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { readInterview } from '../../src/session/readClinicWords.js';

/**
 * Every precaution against every exercise. The table was written out once and read through line by line, so that a
 * change of a rule or of a load tag shows all that it changes: L leave out, C needs clearance, h do it this way, dot
 * nothing; the strictest counts. Columns in the order of the interview.
 */
const columns = [
  'back-emergency',
  'heart-warning',
  'neck-emergency',
  'calf-signs',
  'spinal-fracture',
  'old-spinal-fracture',
  'osteoporosis',
  'other-fracture',
  'bone-cancer',
  'new-back-pain',
  'hip-operation',
  'knee-operation',
  'spine-operation',
  'belly-operation',
  'cannot-lie-flat',
  'breathlessness',
  'lung-disease',
  'rolling-dizziness',
  'standing-faintness',
  'neck-symptoms',
  'uncontrolled-blood-pressure',
  'treated-blood-pressure',
  'heart-disease',
  'eye-pressure',
  'chest-restrictions',
  'shoulder-restrictions',
  'sore-shoulder',
  'hernia-or-pelvic-floor',
  'pregnancy',
  'sore-skin',
  'fall-risk',
  'memory-problems',
  'implanted-device',
] as const;
const table: Readonly<Record<string, string>> = {
  'abdominal-bracing': 'LCLLC..CCL..CChChh..ChCCC..CCh.h.',
  'ankle-pumps': 'LCLLC..CCC....hChh.....h....Ch.h.',
  'arm-reach': 'LCLLCCh.CC..C.hChh.h..hhCCh.Ch.hC',
  'arm-slides': 'LCLLCCh.CC..C.hChh.h...hCCh.Ch.hC',
  'bent-knee-fall-out': 'LCLLCChCCCChC.hChh.....h....Ch.h.',
  'body-awareness-rest': 'LCLLC...CC....hChh.....h....Ch.h.',
  bridge: 'LCLLCCCCCLCCCChChh..ChCCCC.CCh.h.',
  'buttock-tightening': 'LCLLC...CCh...hChh..Chhh....Ch.h.',
  'deep-neck-nod': 'LCLLC.h.CC..C.hChC.CChhh....Ch.hC',
  'elbow-opening': 'LCLLCCh.CC..C.hChh.h..hhCCh.Ch.hC',
  'hamstring-stretch': 'LCLLLLC.CLC.C.hChh..ChhhCCh.Ch.hC',
  'hand-pumps': 'LCLLC...CC....hChh.....h.h..Ch.h.',
  'head-press': 'LCLLC...CC..C.hChC.CChhh....Ch.h.',
  'heel-press': 'LCLLC..CCCCC..hChh..Chhh....Ch.h.',
  'heel-slide': 'LCLLC...CChh..hChh.....h....Ch.h.',
  'into-bed': 'LCLLC.h.CChhhh.C.CC.....CCh...hh.',
  'knee-rolls': 'LCLLLLCCCLChC.hChh....hh....Ch.hC',
  'knee-squeeze': 'LCLLC..CCCCh..hChh..Chhh....Ch.h.',
  'knee-straightening': 'LCLLC...CC.C..hChh.....h....Ch.h.',
  'knee-to-chest': 'LCLLLLC.CLChC.hChh..ChhhCCh.Ch.hC',
  'leg-slide-out': 'LCLLC..CCCC...hChh.....h....Ch.h.',
  'log-roll': 'LCLLC.h.CChhhh.C.CC.....CCh...hh.',
  'lower-rib-breathing': 'LCLLC...CC....hChh....hhC...Ch.h.',
  'lying-down-and-getting-up': 'LCLLC.h.CCh.hh.C.CC.....CCh...hh.',
  'muscle-relaxation': 'LCLLC...CC....hChh..Chhh....Ch.h.',
  'out-of-bed': 'LCLLC.hCCCCChh.C.CC.....CCh...hh.',
  'pelvic-floor': 'LCLLC..CCC..CChChh..Chhh...CCh.h.',
  'quiet-breathing': 'LCLLC...CC....hChh....hh....Ch.h.',
  'rest-arms-open': 'LCLLCCh.CC..C.hChh.....hChh.Ch.h.',
  'shoulder-blade-setting': 'LCLLC..CCC..CChChh..ChhhCChhCh.h.',
  'shoulder-rotation': 'LCLLC...CC....hChh.....hCCh.Ch.h.',
  'sit-before-standing': 'LCLLC.hCCCCChh.C.CC.....CCh...hh.',
  'stick-raise': 'LCLLCCh.CC..C.hChh.h..hhCCh.Ch.hC',
  'straight-leg-raise': 'LCLLCC.CCLCCCChChh..ChCCC..CCh.h.',
  'thigh-press': 'LCLLC..CCCCC..hChh..Chhh....Ch.h.',
  'thigh-tightening': 'LCLLC...CChC..hChh..Chhh....Ch.h.',
  'upper-arm-press': 'LCLLC..CCC..CChChh..ChhhCChhCh.h.',
};

const letters = { 'leave-out': 'L', clearance: 'C', change: 'h' };

let interview: Interview;
let exercises: Map<string, Loaded & Partial<Pick<Exercise, 'cautions'>>>;
beforeAll(async () => {
  const catalogues = await readCatalogues('audio-templates');
  interview = await readInterview('audio-templates', catalogues);
  exercises = new Map<string, Loaded & Partial<Pick<Exercise, 'cautions'>>>(catalogues.get('en')?.exercises);
  exercises.set(lyingDownAndGettingUp.id, lyingDownAndGettingUp);
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
      [/dizziness on/i, 'rolling-dizziness'],
      [/dizziness, fainting/i, 'standing-faintness'],
      [/inflammatory disease of the neck/i, 'neck-symptoms'],
      [/high blood pressure/i, 'treated-blood-pressure'],
      [/heart disease/i, 'heart-disease'],
      [/glaucoma|eye operation|eye or heart operation/i, 'eye-pressure'],
      [/breathlessness/i, 'breathlessness'],
      [/lung/i, 'lung-disease'],
      [/rib fracture|on the chest/i, 'chest-restrictions'],
      [/shoulder (replacement|or wrist|or hand)|unstable/i, 'shoulder-restrictions'],
      [/painful shoulder|frozen/i, 'sore-shoulder'],
      [/hernia|leaking/i, 'hernia-or-pelvic-floor'],
      [/pacemaker/i, 'implanted-device'],
      [/pressure sores/i, 'sore-skin'],
      [/calf/i, 'calf-signs'],
    ];
    let checked = 0;
    for (const { id, cautions = [] } of exercises.values()) {
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
    for (const precaution of ['spinal-fracture', 'old-spinal-fracture', 'osteoporosis', 'new-back-pain']) {
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
      for (const kept of ['treated-blood-pressure', 'heart-disease', 'eye-pressure'])
        expect(strictest(kept, id), `${kept}: ${id}`).toBeDefined();
    }
  });
});
