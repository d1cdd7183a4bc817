import { beforeAll, describe, expect, it } from 'vitest';
import type { Exercise } from '../../src/catalogue/schema.js';
import { findingsOf, type Loaded, lyingDownAndGettingUp } from '../../src/screening/findings.js';
import { type Interview, measures, questionsOf } from '../../src/screening/interview.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { readInterview } from '../../src/session/readClinicWords.js';

/**
 * Every precaution against every exercise. The table was written out once and read through precaution by precaution,
 * so that a change of a rule or of a load tag shows all that it changes: S stop, L leave out, C needs clearance, h do it
 * this way, dot nothing; the strictest counts. Columns in the order of the interview, a gap between two body systems.
 */
const columns = `
  chest-pain-now faint-now breathless-now neck-emergency sudden-headache head-injury confusion-new
  back-emergency bladder-bowel-new leg-weakness-new cord-hands cord-walking cord-electric calf-signs
  coughed-blood sudden-back-pain fever eye-signs fall-recent

  spinal-fracture spinal-fracture-suspected old-spinal-fracture height-loss rounder-back new-back-pain
  night-pain long-back-pain leg-pain lumbar-stenosis leg-heaviness stiffened-spine neck-fracture
  neck-fracture-old cord-known neck-unstable rheumatoid neck-pain arm-tingling neck-turn-dizzy
  spine-operation spine-operation-old

  osteoporosis fragility-fracture steroid-tablets other-fracture thigh-pain bone-cancer hip-operation
  hip-fracture hip-slipped hip-replacement-old knee-operation foot-operation shoulder-restrictions
  arm-fracture shoulder-slips arm-limited sore-shoulder sore-hands sore-hip-knee hot-joint muscle-tear
  limb-loss chest-restrictions rib-fracture movement-limited

  stroke-lately stroke-old seizure nerve-disease clumsy-hands-old leg-numbness-old rolling-dizziness
  standing-faintness

  chest-pain-lately heart-attack-lately heart-operation faint-lately clot heart-valve aneurysm
  palpitations fluid-gain angina heart-failure heart-rhythm heart-disease uncontrolled-blood-pressure
  blood-pressure-unknown treated-blood-pressure implanted-device neck-artery leg-arteries blood-thinner

  breathlessness lying-breathless lung-lately collapsed-lung lung-disease oxygen reflux cannot-lie-flat
  chin-tips swallowing feeding-tube

  belly-operation hernia stoma prolapse leaking pelvic-pain catheter pregnancy

  infection weight-loss cancer-treatment cancer-past hospital-lately effort-limited low-sugar-lately
  high-sugar sugar-medicine drowsy-medicine latex sore-seat sore-heel sore-back-head dialysis

  gas-bubble retina-operation eye-operation eye-pressure hearing sight

  fall-risk hard-in-and-out unsteady memory-problems anxious-lying
`;

// biome-ignore format: a table is read with one exercise a line
const table: Readonly<Record<string, string>> = {
  'abdominal-bracing': 'SSSSSSSSSSSSSSSSSSC CC..hLCh.hhCC.CCh..hC. ...CCC.............C..CCC C.hh.hh. CCCCCCCCCCChCCCh.h.. CCC.hhhhhhh CCChh..C CCChCCCCh..LhCh LLCCh. ...h.',
  'ankle-pumps': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhhC.CCh..h.. ...C.C.....C.......CC...C C.hh.hh. CCCCCCCCCh........h. CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...h.',
  'arm-reach': 'SSSSSSSSSSSSSSSSSSC CCC.hCC..hhCChCChhhhCh hhh..C...h..CCCCh..CChCCC ChhhChh. CCCCCCCCChh.h...C... CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...h.',
  'arm-slides': 'SSSSSSSSSSSSSSSSSSC CCC.hCC..hhCChCChhhhCh hhh..C...h..CCCCh..CChCCC ChhhChh. CCCCCCCCCh......C... CCC.hhhhhhh .......C CCChCCCCh..LhLh LLhhh. ...h.',
  'band-pull-apart': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhCC.CChhhhC. .....C......CCCChh.CChCCC ChhhChh. CCCCCCCCCChhhCChCh.. CCC.hhhhhhh .......C CCChCCCCh.hLhCh LLhhh. ...h.',
  'bent-knee-fall-out': 'SSSSSSSSSSSSSSSSSSC CCC.hCC.hhhCC.CCh..hCh hhhCCCCCChh.......hCCh..C C.hh.hh. CCCCCCCCCh.......... CCC.hhhhhhh .....h.C CCChCCCCh..LhCh LLhhh. ...h.',
  'body-awareness-rest': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhhC.CCh..h.. .....C.............C....C C.hh.hh. CCCCCCCCCh.......... CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...hh',
  'bridge': 'SSSSSSSSSSSSSSSSSSC CCC.hLChhCCCC.CCh..hC. CCCCCCCCh.CCCChChhhCChCCC ChhhChh. CCCCCCCCCCChCCChCh.. CCC.hhhhhhh CCCCh..C CCChCCCCh..LLLh LLCCh. ...h.',
  'buttock-tightening': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhhC.CCh..h.. .....Chh...........C....C C.hh.hh. CCCCCCCCCChhhCCh.h.. CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...h.',
  'ceiling-reach': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhhC.CChhhh.. .....C......CCCCh..C.hCCC Chhh.hh. CCCCCCCCCh......C... CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...h.',
  'deep-neck-nod': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhCLCLLCCCCC. hhh..C.............C....C C.hhChC. CCCCCCCCCChhhCCh.C.. CCC.hhhhhhh .......C CCChCCCCh..LhLh LLhhh. ...h.',
  'diagonal-reach': 'SSSSSSSSSSSSSSSSSSC CCC.hCC..hhCChCChhhhCh hhh..Chhhh..CCCCh..CChCCC ChhhChh. CCCCCCCCChh.h...C... CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...h.',
  'elbow-opening': 'SSSSSSSSSSSSSSSSSSC CCC.hCC..hhCChCChhhhCh hhh..C...h..CCCCh..CChCCC ChhhChh. CCCCCCCCChh.h...C... CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...h.',
  'growing-long': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhCLCLLCCCCC. ...C.C.............C....C C.hhChC. CCCCCCCCCChhhCCh.C.. CCC.hhhhhhh Chhhh..C CCChCCCCh..LhCh LLhhh. ...h.',
  'hamstring-stretch': 'SSSSSSSSSSSSSSSSSSC LCLChLChChhCC.CCh..hCh CCChCCCCCh..CChChhhCChCCC C.hhChh. CCCCCCCCCChhhCChChh. CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...h.',
  'hand-pumps': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhhC.CCh..h.. .....C......hh...h.C....C C.hh.hh. CCCCCCCCCh.......... CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...h.',
  'head-press': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhCLCLLCCCCC. .....C.............C....C C.hhChC. CCCCCCCCCChhhCCh.C.. CCC.hhhhhhh .......C CCChCCCCh..LhLh LLhhh. ...h.',
  'head-turns': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhCLCLLCCCCCh .....C.............C....C C.hhChC. CCCCCCCCCh.......C.. CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...h.',
  'heel-press': 'SSSSSSSSSSSSSSSSSSC CC..hCC.hhhhC.CCh..h.. ...CCCCCh.CC......hCCh..C Chhh.hh. CCCCCCCCCChhhCCh.h.. CCC.hhhhhhh .......C CCChCCCCh..LLCh LLhhh. ...h.',
  'heel-prop': 'SSSSSSSSSSSSSSSSSSC CC..hCC.hhhhC.CCh..h.. ...C.C....h.......hCC...C C.hh.Ch. CCCCCCCCCh........C. CCC.hhhhhhh .......C CCChCCCCh..LLCh LLhhh. ...h.',
  'heel-slide': 'SSSSSSSSSSSSSSSSSSC CC..hCC.hhhhC.CCh..h.. ...hCChhh.h.......hC.h..C C.hh.hh. CCCCCCCCCh.......... CCC.hhhhhhh .......C CCChCCCCh..LLCh LLhhh. ...h.',
  'hip-flexor-edge': 'SSSSSSSSSSSSSSSSSSC LCChhLChhLCCChCCC..hCh CCCCCCCCChh.CChChhhCChCCC ChCCChCC CCCCCCCCCChhhCCh.h.h CCC.hhhhhhh CCh...hC CCChCCCChC.LhCh LLhhCC CCCC.',
  'huff-and-cough': 'SSSSSSSSSSSSSSSSSSC CCh.hLCh.hhCC.CCh..hC. hhh.CC.............C..CCC C.Ch.hh. CCCCCCLCCCChCCChhh.. CCCChhhhhhh CCCCC..C CCChCCCCh..LhCh LLCCh. ...h.',
  'into-bed': 'SSSSSSSSSSSSSSSSSSC CChh.CC.h..CChCCC..hh. hhhhCChhh.h.CChChhhC.hCCC ChhhChCC CCCCCCCCCh......C..h CCC..h....h hhh...h. CCChCCCChh.h..h CC..hh hhhh.',
  'knee-rolls': 'SSSSSSSSSSSSSSSSSSC LCLChLChhhhCC.CCh..hCh CCCCCCCCChh.......hC.h..C C.hhChh. CCCCCCCCChh.h...C... CCC.hhhhhhh .....h.C CCChCCCCh..LhCh LLhhh. ...h.',
  'knee-squeeze': 'SSSSSSSSSSSSSSSSSSC CC..hCC.hhhhC.CCh..h.. ...CCCCCChh.......hC.h..C C.hh.hh. CCCCCCCCCChhhCCh.h.. CCC.hhhhhhh .....h.C CCChCCCCh..LhCh LLhhh. ...h.',
  'knee-straightening': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhhC.CCh..h.. ...h.C....C.......hC.h..C C.hh.hh. CCCCCCCCCh.......... CCC.hhhhhhh .......C CCChCCCCh..LLCh LLhhh. ...h.',
  'knee-to-chest': 'SSSSSSSSSSSSSSSSSSC LCLChLChhhhCC.CCh..hCh CCChCCCCChh.CChChhhCChCCC C.hhChh. CCCCCCCCCChhhCChChh. CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...h.',
  'leg-slide-out': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhhC.CCh..h.. ...CCCCCC.........hC....C C.hh.hh. CCCCCCCCCh.......... CCC.hhhhhhh .....h.C CCChCCCCh..LLCh LLhhh. ...h.',
  'log-roll': 'SSSSSSSSSSSSSSSSSSC CChh.CC.h..CChCCC..hh. hhhhCChhh.h.CChChhhC.hCCC ChhhChCC CCCCCCCCCh......C..h CCC..h....h hhh...h. CCChCCCChh.h..h CC..hh hhhh.',
  'lower-rib-breathing': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhhC.CCh..h.. .....C.............C..CCC C.Ch.hh. CCCCCCCCChh.h....... CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...h.',
  'lying-down-and-getting-up': 'SSSSSSSSSSSSSSSSSSC CChh.CC....CChCCC..hh. hhhhCChhh...CChChh.C.hCCC ChhhChCC CCCCCCCCCh......C..h CCC..h....h hhh...h. CCChCCCChh.h..h CC..hh hhhh.',
  'moving-sideways-in-bed': 'SSSSSSSSSSSSSSSSSSC CCh.hCC.hhhCC.CCh..hC. hhhCCCCCh.CCCChChhhCChCCC Chhh.hh. CCCCCCCCCChhhCChCh.. CCC.hhhhhhh Chhhh..C CCChCCCCh..LLLh LLhhh. .h.h.',
  'moving-up-in-bed': 'SSSSSSSSSSSSSSSSSSC CCh.hCC.hhhCC.CCh..hC. hhhCCCCCh.CCCChChhhCChCCC Chhh.hh. CCCCCCCCCChhhCChCh.. CCC.hhhhhhh Chhhh..C CCChCCCCh..LLLh LLhhh. .h.h.',
  'muscle-relaxation': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhhC.CCh..h.. .....C.............C....C C.hh.hh. CCCCCCCCCChhhCCh.h.. CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...hh',
  'out-of-bed': 'SSSSSSSSSSSSSSSSSSC CChh.CC.h..CChCCC..hh. hhhCCCCCh.CCCChChhhCChCCC ChhhChCC CCCCCCCCCh......C..h CCC..h....h hhh...h. CCChCCCChh.h..h CC..hh hhhh.',
  'pelvic-floor': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhCC.CCh..hC. ...C.C.............C....C C.hh.hh. CCCCCCCCCChhhCCh.h.. CCC.hhhhhhh ChhhhCCC CCChCCCCh..LhCh LLhhh. ...h.',
  'pursed-lip-breathing': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhhC.CCh..h.. .....C.............C....C C.Ch.hh. CCCCCCCCChh.h....... CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...h.',
  'quiet-breathing': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhhC.CCh..h.. .....C.............C....C C.Ch.hh. CCCCCCCCChh.h....... CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...hh',
  'rest-arms-open': 'SSSSSSSSSSSSSSSSSSC CCC.hCC..hhCC.CCh..hCh hhh..C...h..hhhCh..CC.CCC C.hhChh. CCCCCCCCCh......h... CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...hh',
  'shoulder-blade-setting': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhCC.CCh..hC. ...C.C......CCCCh..C..CCC C.hhChh. CCCCCCCCCChhhCChhh.. CCC.hhhhhhh Chhhh..C CCChCCCCh..LhLh LLhhh. ...h.',
  'shoulder-rotation': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhhC.CCh.hh.. .....C......CCCCh..CC.CCC Chhh.hh. CCCCCCCCCh......h... CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...h.',
  'sit-before-standing': 'SSSSSSSSSSSSSSSSSSC CChh.CC.h..CChCCC..hh. hhhCCCCCh.CCCChChhhCChCCC ChhhChCC CCCCCCCCCh......C..h CCC..h....h hhh...h. CCChCCCChh.h..h CC..hh hhhh.',
  'stick-raise': 'SSSSSSSSSSSSSSSSSSC CCC.hCC..hhCChCChhhhCh hhh..C...h..CCCChh.CChCCC ChhhChh. CCCCCCCCChh.h...C... CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...h.',
  'straight-leg-raise': 'SSSSSSSSSSSSSSSSSSC CCC.hLCCCCCCC.CCh..hC. ...CCCCCh.C.......hCChCCC C.hh.hh. CCCCCCCCCCChCCCh.hh. CCC.hhhhhhh CCCCh..C CCChCCCCh..LhCh LLCCh. ...h.',
  'strap-knee-bend': 'SSSSSSSSSSSSSSSSSSC CC..hCC.hhhhC.CCh..h.. ...CCChhh.C.CChChhhC.hCCC C.hh.hh. CCCCCCCCCChhhCCh.h.. CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...h.',
  'thigh-press': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhhC.CCh..h.. ...CCCCC..CC......hCCh..C Chhh.hh. CCCCCCCCCChhhCCh.h.. CCC.hhhhhhh .......C CCChCCCCh..LLCh LLhhh. ...h.',
  'thigh-tightening': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhhC.CCh..h.. .....Chh..C........C....C C.hh.hh. CCCCCCCCCChhhCCh.h.. CCC.hhhhhhh .......C CCChCCCCh..LhCh LLhhh. ...h.',
  'upper-arm-press': 'SSSSSSSSSSSSSSSSSSC CC..hCC..hhCC.CCh..hC. ...C.C......CCCChh.C.hCCC ChhhChh. CCCCCCCCCChhhCChCh.. CCC.hhhhhhh Chhhh..C CCChCCCCh..LhLh LLhhh. ...h.',
  'upper-back-roll': 'SSSSSSSSSSSSSSSSSSC LCCChLCh.hhLLCLLCCChCh CCChCLhhhh......h..CChCLC ChhhChCC CCCCCCLCCh......CC.h CCC.hhhhhhh hhh...hC CCChCCCChh.LhLh LLhhhh hhhh.',
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

/** The strictest rule that a precaution brings for an exercise, or undefined. */
function strictestRule(precaution: string, exerciseId: string) {
  const exercise = exercises.get(exerciseId);
  if (exercise === undefined) throw new Error(`there is no exercise ${exerciseId}`);
  const answers = { [precaution]: { answer: 'yes' as const, details: '' } };
  return findingsOf(answers, [exercise], interview)[0]?.rule;
}

const strictest = (precaution: string, exerciseId: string) => strictestRule(precaution, exerciseId)?.measure;

describe('precautions against exercises', () => {
  it('are as in the table, every one against every one', () => {
    expect(interview.precautions.map(({ id }) => id)).toEqual(columns.trim().split(/\s+/));
    expect([...exercises.keys()].sort()).toEqual(Object.keys(table).sort());
    for (const [exercise, row] of Object.entries(table)) {
      const found = interview.systems.map(({ id }) =>
        questionsOf(interview, id)
          .map((precaution) => {
            const rule = strictestRule(precaution.id, exercise);
            return rule === undefined ? '.' : rule.stop ? 'S' : letters[rule.measure];
          })
          .join(''),
      );
      expect(found.join(' '), exercise).toBe(row);
    }
  });

  it('stop only what stops everywhere', () => {
    for (const row of Object.values(table)) {
      const stops = interview.precautions.filter(({ rules }) => rules.some(({ stop }) => stop));
      expect(row.match(/S/g)).toHaveLength(stops.length);
    }
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
