import { beforeAll, describe, expect, it } from 'vitest';
import { type Interview, isAskedAlone, type Precaution } from '../../src/screening/interview.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { readInterview, readWarningSigns } from '../../src/session/readClinicWords.js';

/**
 * What the table of precautions against exercises does not show: how each question is asked, and what doing it this way
 * changes beside a printed line. Written out once and read through question by question, so that a word that goes
 * missing in the file is seen. Common practice, no published source.
 */
const askedAlone = `
  chest-pain-now faint-now breathless-now neck-emergency sudden-headache head-injury confusion-new
  back-emergency bladder-bowel-new leg-weakness-new cord-hands cord-walking cord-electric calf-signs
  coughed-blood bleeding-new sudden-back-pain injury-pain fever eye-signs fall-recent
  spinal-fracture spinal-fracture-suspected new-back-pain neck-fracture cord-known neck-unstable
  stroke-lately chest-pain-lately heart-attack-lately heart-operation faint-lately clot gas-bubble
  retina-operation
`;

/** A yes says when, which side, what is allowed. */
const asksForDetails = `
  fall-recent spinal-fracture neck-fracture spine-operation spine-needle fragility-fracture
  other-fracture bone-cancer hip-operation hip-slipped knee-operation foot-operation
  shoulder-restrictions shoulder-slips arm-limited muscle-tear limb-loss chest-restrictions
  rib-fracture movement-limited head-pressure stroke-lately clumsy-hands-old chest-pain-lately
  heart-attack-lately heart-operation faint-lately vessel-puncture device-shock clot aneurysm
  implanted-device lung-lately belly-operation cancer-treatment cancer-past other-operation
  hospital-lately effort-limited tube-or-drain sore-side retina-operation eye-operation
`;

/** Confirmed at re-screening in place of being asked anew. */
const lasting = `
  old-spinal-fracture height-loss rounder-back lumbar-stenosis stiffened-spine neck-fracture-old
  rheumatoid spine-operation-old osteoporosis fragility-fracture steroid-tablets hip-slipped
  hip-replacement-old limb-loss stroke-old nerve-disease angina heart-failure heart-rhythm
  heart-disease neck-artery leg-arteries collapsed-lung lung-disease neck-opening hernia stoma
  prolapse cancer-past latex dialysis eye-pressure hearing sight memory-problems hard-to-tell
`;

const changes: Readonly<Record<string, string>> = {
  'spinal-fracture-moving': 'says manner',
  'old-spinal-fracture-moving': 'says manner',
  'height-loss-moving': 'says manner',
  'lumbar-stenosis-lying': 'knees=over-pillow',
  'leg-heaviness-lying': 'knees=over-pillow',
  'stiffened-spine-lying': 'says limit, headSupport=pillow',
  'spine-operation-moving': 'says manner',
  'osteoporosis-moving': 'says manner',
  'fragility-fracture-moving': 'says manner',
  'steroid-tablets-moving': 'says manner',
  'hip-operation-bend': 'says limit',
  'hip-slipped-bend': 'says limit',
  'shoulder-restrictions-load': 'without both-arms',
  'shoulder-slips-rest': 'without both-arms',
  'arm-limited-load': 'without both-arms',
  'sore-shoulder-range': 'says limit',
  'sore-shoulder-weight': 'without both-arms',
  'sore-hands-load': 'without both-arms',
  'muscle-tear-arm': 'without both-arms',
  'limb-loss-moving': 'without both-arms',
  'chest-restrictions-arms': 'without both-arms',
  'rib-fracture-arms': 'without both-arms',
  'stroke-old-moving': 'without both-arms',
  'rolling-dizziness-moving': 'says stop',
  'rolling-dizziness-lying': 'headSupport=pillow',
  'standing-faintness-moving': 'says stop',
  'chest-pain-lately-first': 'holdSeconds<=5',
  'heart-attack-lately-first': 'holdSeconds<=5',
  'heart-operation-first': 'holdSeconds<=5, without both-arms',
  'faint-lately-first': 'holdSeconds<=5',
  'heart-valve-first': 'holdSeconds<=5',
  'aneurysm-first': 'holdSeconds<=5',
  'palpitations-first': 'holdSeconds<=5',
  'fluid-gain-first': 'holdSeconds<=5',
  'angina-effort': 'holdSeconds<=5',
  'heart-failure-holds': 'says manner, holdSeconds<=5',
  'heart-rhythm-holds': 'says manner, holdSeconds<=5',
  'heart-disease-holds': 'says manner, holdSeconds<=5',
  'very-high-blood-pressure-first': 'holdSeconds<=5',
  'uncontrolled-blood-pressure-holds': 'holdSeconds<=5',
  'treated-blood-pressure-holds': 'says manner, holdSeconds<=5',
  'implanted-device-push': 'says limit, without both-arms',
  'implanted-device-press': 'says limit',
  'neck-artery-holds': 'holdSeconds<=5',
  'breathlessness-first': 'headSupport=raised-head-end',
  'lying-breathless-lying': 'says stop, headSupport=raised-head-end',
  'lung-disease-lying': 'headSupport=raised-head-end',
  'lung-disease-pace': 'says manner',
  'oxygen-on': 'headSupport=raised-head-end',
  'reflux-lying': 'headSupport=raised-head-end',
  'cannot-lie-flat-raise': 'knees=over-pillow',
  'chin-tips-lying': 'headSupport=pillow',
  'swallowing-lying': 'headSupport=raised-head-end',
  'feeding-tube-lying': 'headSupport=raised-head-end',
  'neck-opening-lying': 'headSupport=raised-head-end',
  'pregnancy-lying': 'headSupport=raised-head-end',
  'low-sugar-lately-moving': 'says stop',
  'tube-or-drain-moving': 'without both-arms',
  'sore-side-rolling': 'without both-arms',
  'dialysis-arm': 'without both-arms',
  'eye-operation-holds': 'holdSeconds<=5',
  'eye-operation-lying': 'headSupport=raised-head-end',
  'eye-pressure-holds': 'holdSeconds<=5',
  'eye-pressure-lying': 'headSupport=raised-head-end',
  'hard-in-and-out-moving': 'says manner',
  'anxious-lying-rest': 'says manner',
};

let interview: Interview;
beforeAll(async () => {
  interview = await readInterview('audio-templates', await readCatalogues('audio-templates'));
});

describe('each question of the interview', () => {
  const idsOf = (isMeant: (precaution: Precaution) => boolean) =>
    interview.precautions.filter(isMeant).map(({ id }) => id);

  it('is asked alone, asks for details and is confirmed next time as listed', () => {
    expect(idsOf(isAskedAlone)).toEqual(askedAlone.trim().split(/\s+/));
    expect(idsOf(({ askAlone }) => askAlone)).toEqual(askedAlone.trim().split(/\s+/));
    expect(idsOf(({ needsDetails }) => needsDetails)).toEqual(asksForDetails.trim().split(/\s+/));
    expect(idsOf(({ lasting }) => lasting)).toEqual(lasting.trim().split(/\s+/));
  });
});

describe('each rule that is done another way', () => {
  it('changes the dose, the position and what is said as listed', () => {
    const found = interview.precautions
      .flatMap(({ rules }) => rules)
      .flatMap(({ id, adapt }): [string, string][] => {
        if (adapt === undefined) return [];
        const { say, sayAs, atMost = {}, setUp = {}, leaveOut } = adapt;
        const parts = [
          say === undefined ? '' : `says ${sayAs}`,
          Object.entries(atMost)
            .map(([name, most]) => `${name}<=${most}`)
            .join(' '),
          Object.entries(setUp)
            .map(([name, way]) => `${name}=${way}`)
            .join(' '),
          leaveOut.length === 0 ? '' : `without ${leaveOut.join(' ')}`,
        ].filter((part) => part !== '');
        return parts.length === 0 ? [] : [[id, parts.join(', ')]];
      });
    expect(Object.fromEntries(found)).toEqual(changes);
  });
});

describe('a knock on the head with a blood thinner', () => {
  /** NICE NG232 (2023), from memory: a head injury with an anticoagulant goes to the hospital. */
  it('is an emergency on the handout, as it is for whoever tells of a fall', async () => {
    const rule = interview.precautions
      .flatMap(({ rules }) => rules)
      .find(({ id }) => id === 'blood-thinner-moving');
    const emergency = /hit your head\b.*emergency number/i;
    expect(rule?.adapt?.print).toMatch(emergency);
    const signs = (await readWarningSigns('audio-templates')).signs;
    const fall = signs.find(({ id }) => id === 'pain-after-fall');
    expect(fall?.instruct).toMatch(/emergency number.*hit your head.*blood thinners/);
  });
});
