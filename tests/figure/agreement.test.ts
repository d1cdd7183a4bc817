import { beforeAll, describe, expect, it } from 'vitest';
import type { Catalogue } from '../../src/catalogue/catalogue.js';
import type { Exercise } from '../../src/catalogue/schema.js';
import { figureProblems, jointAngles } from '../../src/figure/checks.js';
import { type FullPose, fullPoses, lyingWith, type Support } from '../../src/figure/fullPoses.js';
import { type Skeleton, skeletonOf } from '../../src/figure/skeleton.js';
import type { FigureSpec } from '../../src/figure/spec.js';
import { angleBetween, subtract } from '../../src/figure/vector.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';

/** What the text of an exercise says and what its figure shows, held against each other. */

let catalogue: Catalogue;
beforeAll(async () => {
  const english = (await readCatalogues('audio-templates')).get('en');
  if (english === undefined) throw new Error('the English catalogue is missing');
  catalogue = english;
});

const onTowel: Support = { headSupport: 'folded-towel', knees: 'bent' };
const headSupports = ['none', 'folded-towel', 'thin-pillow', 'pillow', 'raised-head-end'] as const;
/** Each head support once, and each way for the knees: one does not depend on the other. */
const waysToLie: readonly Support[] = [
  ...headSupports.map((headSupport) => ({ headSupport, knees: 'bent' as const })),
  { headSupport: 'folded-towel', knees: 'straight' },
  { headSupport: 'raised-head-end', knees: 'over-pillow' },
];
const sides = ['right', 'left'] as const;

type Posed = FullPose & { body: Skeleton };

function figureOf(exercise: Exercise): FigureSpec {
  if (exercise.figure === undefined) throw new Error(`${exercise.id} has no figure`);
  return exercise.figure;
}

function posesOf(id: string, support: Support = onTowel): Posed[] {
  const exercise = catalogue.exercises.get(id);
  if (exercise === undefined) throw new Error(`there is no ${id}`);
  const lying = lyingWith(support);
  return fullPoses(figureOf(exercise), support).map((full) => ({
    ...full,
    body: skeletonOf(full.pose, lying),
  }));
}

/** The pose of the work: the last one. */
function workOf(id: string): Posed {
  const last = posesOf(id).at(-1);
  if (last === undefined) throw new Error(`${id} has no pose`);
  return last;
}

function anglesIn({ body }: Posed, side: 'right' | 'left') {
  return jointAngles(body.trunk, body.legs[side], body.arms[side]);
}

/** How far an upper arm lies from the side of the body, in degrees. */
function armOutDegrees({ body: { arms, trunk } }: Posed, side: 'right' | 'left'): number {
  const { shoulder, elbow } = arms[side];
  const [x, , z] = subtract(elbow, shoulder);
  return angleBetween([x, 0, z], [-trunk.pelvis.cranial[0], 0, 0]);
}

describe('every exercise of the catalogue', () => {
  it('has a figure', () => {
    const without = [...catalogue.exercises.values()].filter(({ figure }) => figure === undefined);
    expect(without.map(({ id }) => id)).toEqual([]);
    expect(catalogue.figureWords).not.toBeNull();
  });

  it('can be taken up however a program has the patient lie: no joint out of range, no limb in the bed', () => {
    const faults = [...catalogue.exercises.values()].flatMap((exercise) =>
      waysToLie.flatMap((support) =>
        figureProblems(figureOf(exercise), support).map((fault) => ({
          id: exercise.id,
          ...support,
          ...fault,
        })),
      ),
    );
    expect(faults).toEqual([]);
  });

  it('starts in the position of its path', () => {
    const trunkOf = {
      supine: 'lying',
      'side-lying': 'side-lying',
      'sitting-on-edge': 'sitting',
      standing: 'standing',
    };
    const wrong = [...catalogue.exercises.values()].filter(({ id, path }) => {
      const [first] = posesOf(id);
      // Getting out of bed is drawn from the roll on: how one lies before it is drawn everywhere.
      return id !== 'out-of-bed' && first?.pose.trunk.is !== trunkOf[path.from.position];
    });
    expect(wrong.map(({ id }) => id)).toEqual([]);
  });

  it('has its legs as its path says', () => {
    const wrong = [...catalogue.exercises.values()].flatMap(({ id, path }) => {
      const [preferred] = path.from.legs ?? [];
      if (preferred === undefined || path.from.position !== 'supine' || id === 'out-of-bed') return [];
      const knees = preferred === 'one-bent' ? 'bent' : preferred;
      const [first] = posesOf(id, { ...onTowel, knees });
      if (first === undefined) return [id];
      const bends = sides.map((side) => anglesIn(first, side).kneeFlexion);
      const [most, least] = [Math.max(...bends), Math.min(...bends)];
      // What comes after a strap is put on or a roll laid under one knee is drawn, and the other knee stays bent.
      const isTaken = ['strap-knee-bend', 'knee-straightening', 'hamstring-stretch'].includes(id);
      if (isTaken) return most >= 80 && most <= 100 ? [] : [id];
      if (preferred === 'straight') return most < 10 ? [] : [id];
      if (preferred === 'one-bent') return most >= 80 && most <= 100 && least < 10 ? [] : [id];
      if (preferred === 'over-pillow') return least >= 25 && most <= 45 ? [] : [id];
      // Bent is about 90 degrees, a little more for what lifts the hips.
      return least >= 80 && most <= 105 ? [] : [id];
    });
    expect(wrong).toEqual([]);
  });

  it('does the same on both sides where it works both together', () => {
    const uneven = [...catalogue.exercises.values()].filter(
      ({ id, sidedness }) =>
        sidedness === 'together' &&
        posesOf(id).some(
          ({ pose }) => !('both' in pose.arms && 'both' in pose.legs) || pose.head.turnDegrees !== 0,
        ),
    );
    expect(uneven.map(({ id }) => id)).toEqual([]);
  });

  it('keeps the chin level, but for one small nod', () => {
    const tucks = [...catalogue.exercises.keys()].flatMap((id) =>
      posesOf(id).flatMap(({ pose }) => (pose.head.tuckDegrees === 0 ? [] : [[id, pose.head.tuckDegrees]])),
    );
    expect(tucks.map(([id]) => id)).toEqual(['deep-neck-nod']);
    const [, degrees] = tucks[0] ?? [];
    expect(degrees).toBeGreaterThan(0);
    expect(degrees).toBeLessThanOrEqual(10);
  });

  it('shows what it needs', () => {
    const shown: Readonly<Record<string, RegExp>> = {
      stick: /\bstick\b/,
      band: /\bband\b/,
      'strap-at-foot': /\bstrap\b/,
      'strap-at-ankle': /\bstrap\b/,
      'roll-under-knee': /\brolled towel\b|\bfirm pillow\b/,
      'roll-under-heel': /\brolled towel\b/,
      'roll-along-upper-back': /\brolled\b/,
      'pillow-between-knees': /\bpillow between the knees\b/,
      'pillow-on-belly': /\bpillow to hold\b/,
      'pillow-above-head': /\bpillow above the head\b/,
      'pillows-for-elbows': /\bpillows for the elbows\b/,
      rail: /\bsteady support\b/,
    };
    for (const exercise of catalogue.exercises.values()) {
      for (const prop of figureOf(exercise).props)
        expect(exercise.equipment.join('; '), `${exercise.id}: ${prop}`).toMatch(shown[prop] ?? /^$/);
    }
    // And nothing that is held is left out.
    const held = [...catalogue.exercises.values()].filter(({ equipment }) =>
      /\b(stick|strap|band)\b/.test(equipment.join()),
    );
    expect(held.map(({ id }) => id).sort()).toEqual([
      'band-pull-apart',
      'hamstring-stretch',
      'stick-raise',
      'strap-knee-bend',
    ]);
    for (const exercise of held)
      expect(figureOf(exercise).props.join(), exercise.id).toMatch(/stick|strap|band/);
  });
});

describe('what the words say, the figure shows', () => {
  it('rests with both arms 30 to 40 degrees out', () => {
    for (const pose of posesOf('rest-arms-open')) {
      for (const side of sides) {
        expect(armOutDegrees(pose, side)).toBeGreaterThanOrEqual(30);
        expect(armOutDegrees(pose, side)).toBeLessThanOrEqual(40);
      }
    }
  });

  it('presses the upper arms with the elbows at a right angle and the forearms up', () => {
    for (const id of ['upper-arm-press', 'shoulder-rotation']) {
      const [first] = posesOf(id);
      if (first === undefined) throw new Error(`${id} has no pose`);
      for (const side of sides) {
        expect(anglesIn(first, side).elbowFlexion, id).toBeGreaterThan(85);
        expect(anglesIn(first, side).elbowFlexion, id).toBeLessThan(95);
        const { elbow, hand } = first.body.arms[side];
        expect(hand[1] - elbow[1], id).toBeGreaterThan(30);
      }
    }
    expect(workOf('upper-arm-press').presses.map(({ part, to }) => [part, to])).toEqual([
      ['right-elbow', 'down'],
      ['left-elbow', 'down'],
    ]);
  });

  it('turns the forearms outward, away from the belly', () => {
    const [start] = posesOf('shoulder-rotation');
    const work = posesOf('shoulder-rotation').at(-1);
    if (start === undefined || work === undefined) throw new Error('two poses are wanted');
    expect(work.body.arms.right.hand[2]).toBeGreaterThan(start.body.arms.right.hand[2] + 10);
    expect(work.body.arms.left.hand[2]).toBeLessThan(start.body.arms.left.hand[2] - 10);
  });

  it('presses the head straight down and watches the chin', () => {
    const { presses, watch } = workOf('head-press');
    expect(presses).toEqual([{ part: 'head', to: 'down' }]);
    expect(watch).toContain('chin');
  });

  it('reaches one arm overhead, past the ear, and leaves the other at the side', () => {
    const { body } = workOf('arm-reach');
    expect(body.arms.right.hand[0]).toBeLessThan(body.trunk.points.head[0]);
    expect(body.arms.left.hand[0]).toBeGreaterThan(body.trunk.points.waist[0]);
  });

  it('lifts a straight leg about the width of a hand', () => {
    // A hand is 8 to 9 cm wide at the knuckles (NASA STD-3000, anthropometry; from memory).
    const [start, work] = posesOf('straight-leg-raise');
    const lifted = (work?.body.legs.right.heel[1] ?? 0) - (start?.body.legs.right.heel[1] ?? 0);
    expect(lifted).toBeGreaterThan(6);
    expect(lifted).toBeLessThan(11);
    expect(anglesIn(workOf('straight-leg-raise'), 'right').kneeFlexion).toBeLessThan(5);
  });

  it('lifts the hips a little way', () => {
    const { body } = workOf('bridge');
    const [start] = posesOf('bridge');
    const lifted = body.trunk.points.pelvis[1] - (start?.body.trunk.points.pelvis[1] ?? 0);
    expect(lifted).toBeGreaterThan(5);
    expect(lifted).toBeLessThan(20);
  });

  it('slides the arms at most a little above the shoulders, along the bed', () => {
    const work = workOf('arm-slides');
    for (const side of sides) {
      expect(armOutDegrees(work, side)).toBeLessThanOrEqual(100);
      expect(work.body.arms[side].wrist[1]).toBeLessThan(5);
    }
  });

  it('never draws the bent knee toward the chest while the other leg hangs over the edge', () => {
    const work = workOf('hip-flexor-edge');
    expect(anglesIn(work, 'left').hipFlexion).toBeLessThan(80);
    expect(work.body.legs.right.heel[1]).toBeLessThan(0);
    // The other leg never crosses the middle.
    expect(work.body.legs.right.ankle[2]).toBeGreaterThan(0);
  });

  it('slides a leg out to its own side, never past the middle', () => {
    const work = workOf('leg-slide-out');
    expect(work.body.legs.right.ankle[2]).toBeGreaterThan(20);
    expect(work.body.legs.right.heel[1]).toBeLessThan(4);
  });

  it('leans forward with a straight back before standing', () => {
    const leaning = posesOf('sit-before-standing')[1];
    if (leaning === undefined) throw new Error('the lean is missing');
    const { points, pelvis } = leaning.body.trunk;
    expect(angleBetween(subtract(points.upper, points.pelvis), pelvis.cranial)).toBeLessThan(10);
  });
});
