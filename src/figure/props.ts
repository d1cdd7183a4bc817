import { cm, girths, radii } from './body.js';

import { onSide, type Pose } from './pose.js';
import { box, circle, line, type Shape, smooth, taper } from './shape.js';
import type { Skeleton } from './skeleton.js';
import type { Prop } from './spec.js';
import { from, middle, type Vector } from './vector.js';
import { projected, type View } from './view.js';

type Layers = { behind: Shape[]; front: Shape[] };

/** Draws the props, those behind the body and those in front of it. */
export function propShapes(props: readonly Prop[], pose: Pose, body: Skeleton, view: View): Layers {
  const layers = [
    headSupport(pose, body, view),
    props.includes('roll-under-knee') ? {} : kneeSupport(pose, body, view),
    ...props.map((prop) => held(prop, body, view)),
  ];
  return {
    behind: layers.flatMap(({ behind = [] }) => behind),
    front: layers.flatMap(({ front = [] }) => front),
  };
}

/** Draws the head support exactly as thick as the gap under the head. */
function headSupport({ trunk: { is } }: Pose, { trunk }: Skeleton, view: View): Partial<Layers> {
  if (is !== 'lying' && is !== 'side-lying') return {};
  const height = trunk.headGapCm;
  if (height < 0.8 || view === 'end') return {};
  const [x, y] = projected(trunk.points.head, view);
  if (view === 'top') return { behind: [{ role: 'prop', d: box(x - 15, y - 19, 29, 38, 4) }] };
  const half = is === 'lying' ? 12.5 : 17;
  // A towel is drawn by its folds, a pillow in one piece.
  const folds = height > 7 ? 1 : Math.max(1, Math.round(height / 1.8));
  const each = height / folds;
  const axes = is === 'lying' ? trunk.resting : { cranial: trunk.pelvis.cranial, front: trunk.pelvis.right };
  const down = is === 'lying' ? -1 : 1;
  const below = cm(is === 'lying' ? girths.head.depth : girths.head.width);
  return {
    behind: Array.from({ length: folds }, (_, fold) => {
      const middleOf = (along: number) =>
        projected(
          from(trunk.points.head, [axes.front, down * (below + (fold + 0.5) * each)], [axes.cranial, along]),
          view,
        );
      const radius = each / 2 - 0.1;
      return {
        role: 'prop' as const,
        d: taper(middleOf(half - radius), radius, middleOf(radius - half), radius),
      };
    }),
  };
}

function kneeSupport(pose: Pose, { legs }: Skeleton, view: View): Partial<Layers> {
  const leg = onSide(pose.legs, 'right');
  if (leg.on !== 'heel' || leg.kneeDegrees < 15 || leg.kneeDegrees > 60 || view !== 'side') return {};
  const [x, y] = projected(legs.right.knee, view);
  const height = -y - cm(radii.knee) * 0.9;
  return {
    behind: [
      {
        role: 'prop',
        d: `${smooth([
          [x - 21, 0],
          [x - 15, -height * 0.55],
          [x - 1, -height],
          [x + 13, -height * 0.6],
          [x + 20, 0],
        ])}Z`,
      },
    ],
  };
}

/** A roll as high as is free under a joint, or that far toward the head from it. */
function under(joint: Vector, radius: number, towardHeadCm: number, view: View): string {
  const size = Math.max(1, (joint[1] - radius * 0.95) / 2);
  return circle([projected(joint, view)[0] - towardHeadCm, -size], size);
}

function held(prop: Prop, { arms, legs, trunk }: Skeleton, view: View): Partial<Layers> {
  const [right, left] = [projected(arms.right.hand, view), projected(arms.left.hand, view)];
  switch (prop) {
    case 'stick': {
      if (view === 'side') return { front: [{ role: 'held', d: circle(right, 1.6) }] };
      return { front: [{ role: 'held', d: line(right, left), lineCm: 1.8, hasHalo: true }] };
    }
    case 'band':
      return { front: [{ role: 'held', d: line(right, left), lineCm: 2, hasHalo: true }] };
    case 'roll-under-knee':
      return { behind: [{ role: 'prop', d: under(legs.right.knee, cm(radii.knee), 0, view) }] };
    case 'roll-under-heel':
      return { behind: [{ role: 'prop', d: under(legs.right.ankle, cm(radii.ankle), 4, view) }] };
    case 'roll-along-upper-back': {
      const [chest] = projected(trunk.points.chest, view);
      const [upper] = projected(trunk.points.root, view);
      return { front: [{ role: 'prop', d: box(upper - 2, -2.6, chest - upper + 12, 3, 1.5) }] };
    }
    case 'pillow-on-belly': {
      const [x, y] = projected(from(trunk.points.waist, [trunk.pelvis.front, cm(girths.waist.depth)]), view);
      return { front: [{ role: 'prop', d: box(x - 15, y - 7, 30, 12, 5) }] };
    }
    case 'pillows-for-elbows':
      return {
        behind: [38, -38].map((z) => ({
          role: 'prop' as const,
          d: box(projected(trunk.points.upper, view)[0] - 12, z - 14, 26, 28, 5),
        })),
      };
    case 'rail': {
      if (view !== 'end') return {};
      const place = 58;
      // As high as a walking frame: the wrist of someone who stands.
      const height = trunk.floorCm + cm(0.485);
      return {
        front: [
          {
            role: 'floor',
            d: `${line([place, -height], [place, -trunk.floorCm])}${line([place - 5, -height], [place + 3, -height])}`,
            lineCm: 2,
          },
        ],
      };
    }
    case 'pillow-above-head':
      return { behind: [{ role: 'prop', d: box(-108, -9, 34, 9, 4) }] };
    case 'pillow-between-knees': {
      const [a, b] = [projected(legs.right.knee, view), projected(legs.left.knee, view)];
      return {
        front: [
          {
            role: 'prop',
            d: box(a[0] - 9, Math.min(a[1], b[1]) + 3, 18, Math.max(4, Math.abs(a[1] - b[1]) - 6), 4),
          },
        ],
      };
    }
    case 'strap-at-foot':
    case 'strap-at-ankle': {
      const foot = prop === 'strap-at-foot' ? middle(legs.right.heel, legs.right.toe) : legs.right.ankle;
      const end = projected(foot, view);
      return {
        front: [right, left].map((hand) => ({
          role: 'held' as const,
          d: line(hand, end),
          lineCm: 1,
          hasHalo: true,
        })),
      };
    }
  }
}
