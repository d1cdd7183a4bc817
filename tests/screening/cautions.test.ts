import { beforeAll, describe, expect, it } from 'vitest';
import type { Exercise } from '../../src/catalogue/schema.js';
import { findingsOf } from '../../src/screening/findings.js';
import { type Interview, measures } from '../../src/screening/interview.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { readInterview } from '../../src/session/readClinicWords.js';

/**
 * The cautions of the exercises are written before the rules and by themselves. Whatever a caution names has a rule,
 * and no caution asks for more than the rule does: what is printed is never stricter than what is held back.
 */
const named: readonly (readonly [RegExp, ...string[]])[] = [
  [/new vertebral fracture|^vertebral fracture|a vertebral fracture/i, 'spinal-fracture'],
  [/^vertebral fracture|with a vertebral fracture/i, 'old-spinal-fracture'],
  [/osteoporosis/i, 'osteoporosis', 'fragility-fracture', 'steroid-tablets'],
  [/new sharp back pain|new or worse back pain/i, 'new-back-pain', 'sudden-back-pain'],
  [/narrow(ed|ing of the) (spinal|lumbar) canal|spinal stenosis/i, 'lumbar-stenosis'],
  [/ankylos|very stiff spine/i, 'stiffened-spine'],
  [/hip replacement/i, 'hip-operation'],
  [/hip fracture/i, 'hip-operation'],
  [/knee replacement/i, 'knee-operation'],
  [/(?<!hand|wrist|ankle) or foot (fracture|operation)|ankle or foot operation/i, 'foot-operation'],
  [/(ankle or foot fracture|broken leg)/i, 'other-fracture'],
  [/hand or wrist fracture/i, 'shoulder-restrictions'],
  [/hand or wrist .*operation/i, 'shoulder-restrictions'],
  [/(back|neck) operation/i, 'spine-operation'],
  [/abdominal operation|operation on the belly|pelvic operation/i, 'belly-operation'],
  [/dizziness (on|when)/i, 'rolling-dizziness'],
  [/dizziness, fainting/i, 'standing-faintness'],
  [/inflammatory disease of the neck/i, 'rheumatoid'],
  [/neck instability/i, 'neck-unstable'],
  [/neck fracture/i, 'neck-fracture', 'neck-fracture-old'],
  [/neck arteries/i, 'neck-artery'],
  [/uncontrolled blood pressure/i, 'uncontrolled-blood-pressure', 'very-high-blood-pressure'],
  [/(?<!un)(treated |^)high blood pressure|, high blood pressure/i, 'treated-blood-pressure'],
  [/heart disease/i, 'heart-disease', 'heart-failure'],
  [/aneurysm/i, 'aneurysm'],
  [/glaucoma/i, 'eye-pressure'],
  [/eye operation|eye or heart operation/i, 'eye-operation'],
  [/heart operation/i, 'heart-operation'],
  [/breathlessness (that|or)|worse breathlessness/i, 'breathlessness'],
  [/breathlessness when lying flat/i, 'lying-breathless'],
  [/reflux/i, 'reflux'],
  [/(^|, )lung/i, 'lung-disease'],
  [/collapsed lung/i, 'collapsed-lung'],
  [/rib fracture/i, 'rib-fracture'],
  [/chest operation|operation on the chest|or the chest/i, 'chest-restrictions'],
  [/shoulder (replacement|repair)/i, 'shoulder-restrictions'],
  [/instability(?<!neck instability)|unstable/i, 'shoulder-slips'],
  [/shoulder or (wrist|hand) that must not/i, 'arm-limited'],
  [/painful shoulder|frozen|shoulder .*stiffness/i, 'sore-shoulder'],
  [/finger joints/i, 'sore-hands'],
  [/hernia/i, 'hernia'],
  [/prolapse/i, 'prolapse'],
  [/leaking/i, 'leaking'],
  [/pelvic pain|pain in the pelvis/i, 'pelvic-pain'],
  [/catheter/i, 'catheter'],
  [/pacemaker/i, 'implanted-device'],
  [/pressure sore/i, 'sore-seat'],
  [/sore on the heel/i, 'sore-heel'],
  [/skin over the spine/i, 'sore-back-head'],
  [/poor circulation/i, 'leg-arteries'],
  [/numb feet/i, 'leg-numbness-old'],
  [/latex/i, 'latex'],
  [/memory problems/i, 'memory-problems'],
  [/falling out of bed/i, 'fall-risk'],
  [/calf (that|cramps)?.*(hot|swollen)|(hot|swollen).* calf/i, 'calf-signs'],
  [/tingling in the arms/i, 'arm-tingling'],
];

/** What a caution asks for: nothing done before somebody allows it, left out, or done in another way. */
function asked(demand: string): (typeof measures)[number] {
  // "Smaller, or leave out" leaves both open.
  const text = demand.replace(/[^,;.]*, or leave out[^;.]*/gi, '').replace(/, or with [^;.]*/gi, '');
  if (/leave out(?! until)/i.test(text) || /do not (start|move it)/i.test(text)) return 'leave-out';
  const isClearance =
    /until (it is )?cleared|only (after|when) clear|unless (a clinician|the surgeon)|not until a doctor/i.test(
      text,
    ) || /(until|only when|when) (the surgeon allows|allowed)|ask the clinician first/i.test(text);
  const isLeftOpen = demand !== text && !isClearance;
  return isClearance && !isLeftOpen ? 'clearance' : 'change';
}

/** "Condition; what to do. Condition; what to do.": each condition with what is asked for it. */
function clausesOf(caution: string): { condition: string; demand: string }[] {
  const sentences = caution.split(/(?<=[.])\s+/);
  const clauses: { condition: string; demand: string }[] = [];
  for (const sentence of sentences) {
    const [condition = '', ...demand] = sentence.split(';');
    const last = clauses.at(-1);
    const starts = demand.length > 0 || last === undefined || /^(with|not after) /i.test(sentence);
    if (!starts) {
      last.demand += ` ${sentence}`;
      continue;
    }
    const whole = demand.length === 0 || /^ with /i.test(demand.join(';'));
    clauses.push({ condition: whole ? sentence : condition, demand: whole ? sentence : demand.join(';') });
  }
  return clauses;
}

let interview: Interview;
let exercises: readonly Exercise[];
beforeAll(async () => {
  const catalogues = await readCatalogues('audio-templates');
  interview = await readInterview('audio-templates', catalogues);
  exercises = [...(catalogues.get('en')?.exercises.values() ?? [])];
});

describe('the cautions of an exercise', () => {
  it('name nothing without a rule, and are never stronger than the rule', () => {
    const checked = exercises.flatMap((exercise) =>
      exercise.cautions
        .flatMap(clausesOf)
        .flatMap(({ condition, demand }) =>
          named.flatMap(([pattern, ...precautions]) =>
            pattern.test(condition)
              ? precautions.map((precaution) => ({ exercise, condition, demand, precaution }))
              : [],
          ),
        ),
    );
    const tooStrong = checked.flatMap(({ exercise, condition, demand, precaution }) => {
      const answers = { [precaution]: { answer: 'yes' as const, details: '' } };
      const rule = findingsOf(answers, [exercise], interview)[0]?.rule;
      const wanted = asked(demand);
      const isHeld = rule !== undefined && measures.indexOf(rule.measure) <= measures.indexOf(wanted);
      return isHeld
        ? []
        : [`${exercise.id}, ${precaution}: ${wanted} in “${condition};${demand}”, ${rule?.measure}`];
    });
    expect(tooStrong).toEqual([]);
    expect(checked.length).toBeGreaterThan(120);
  });
});
