import { type FullPose, fullPoses, lyingWith, type Support } from './fullPoses.js';
import { placeOf } from './marks.js';
import { type ArmPose, type LegPose, onSide, type Pose, type Side } from './pose.js';
import { type Skeleton, skeletonOf } from './skeleton.js';
import type { BodyPart, Direction, FigureSpec, PairedPart, SinglePart } from './spec.js';
import { subtract } from './vector.js';
import type { ArmWay, FigureWords, LegWay } from './words.js';

/**
 * Describes a figure in sentences built from the same data, one text per pose: the position, what moves and where, what
 * presses, and what to watch.
 */
export function describeFigure(spec: FigureSpec, support: Support, side: Side, words: FigureWords): string[] {
  const lying = lyingWith(support);
  const poses = fullPoses(spec, support).map((full) => ({ ...full, body: skeletonOf(full.pose, lying) }));
  return poses.map((each, index) => {
    const before = poses[index - 1]?.body ?? each.body;
    const sentences = [
      index === 0 || each.pose.trunk.is !== poses[index - 1]?.pose.trunk.is
        ? lies(each.pose, spec, support, side, words)
        : differs(each, poses[index - 1]?.pose ?? each.pose, spec, side, words),
      ...marked(each, before, side, words),
    ];
    if (sentences.every((sentence) => sentence === '')) return words.sameFrom[each.view ?? spec.view];
    return sentences
      .filter((sentence) => sentence !== '')
      .map(sentenceOf)
      .join(' ');
  });
}

function lies(
  pose: Pose,
  spec: FigureSpec,
  { headSupport }: Support,
  side: Side,
  words: FigureWords,
): string {
  const isDown = pose.trunk.is === 'lying' || pose.trunk.is === 'side-lying';
  return [
    trunkIn(pose, side, words),
    ...pairIn(pose, side, words, legIn(spec)),
    ...pairIn(pose, side, words, armIn),
    pose.hands === 'fists' ? words.fists : '',
    anklesIn(pose, words),
    isDown ? words.headSupport[headSupport] : '',
    ...spec.props.map((prop) => words.props[prop]),
  ]
    .filter((part) => part !== '')
    .join(', ');
}

/** Describes the changes since the previous pose. */
function differs({ pose }: FullPose, before: Pose, spec: FigureSpec, side: Side, words: FigureWords): string {
  return [
    pose.trunk === before.trunk ? '' : trunkIn(pose, side, words),
    ...(pose.legs === before.legs ? [] : pairIn(pose, side, words, legIn(spec))),
    ...(pose.arms === before.arms ? [] : pairIn(pose, side, words, armIn)),
    pose.hands === before.hands || pose.hands === 'open' ? '' : words.fists,
    pose.head.turnDegrees === before.head.turnDegrees
      ? ''
      : words.faceTurned.replace('{{side}}', words.side[pose.head.turnDegrees > 0 ? side : other(side)]),
    pose.head.tuckDegrees === before.head.tuckDegrees ? '' : words.chinTucked,
    pose.ankleDegrees === before.ankleDegrees ? '' : anklesIn(pose, words),
  ]
    .filter((part) => part !== '')
    .join(', ');
}

function trunkIn({ trunk }: Pose, side: Side, { trunk: told, side: sides }: FigureWords): string {
  if (trunk.is === 'lying') return trunk.liftDegrees > 0 ? told.lifted : told.lying;
  if (trunk.is === 'sitting') return trunk.leanDegrees > 5 ? told.leaning : told.sitting;
  return told[trunk.is].replace('{{side}}', sides[side]);
}

function anklesIn({ ankleDegrees }: Pose, { toesUp, toesPointed }: FigureWords): string {
  if (ankleDegrees === 0) return '';
  return ankleDegrees > 0 ? toesUp : toesPointed;
}

type InWords = { one: string; both: string };

/** Describes both sides in one phrase if they are in the same position, otherwise the working side first. */
function pairIn(pose: Pose, side: Side, words: FigureWords, limbIn: LimbIn): string[] {
  const [right, left] = [limbIn(pose, 'right', words), limbIn(pose, 'left', words)];
  if (right.both === left.both) return [right.both];
  return [named(right.one, side, words), named(left.one, other(side), words)];
}

function named(phrase: string, side: Side, { side: sides }: FigureWords): string {
  return phrase.replace('{{side}}', sides[side]);
}

type LimbIn = (pose: Pose, side: Side, words: FigureWords) => InWords;

const legIn =
  ({ props }: FigureSpec): LimbIn =>
  (pose, side, { legs }) => {
    if (pose.trunk.is === 'side-lying')
      return onSide(pose.legs, side).on === 'over-edge' ? legs['over-edge'] : legs['bent-together'];
    const way = legWay(onSide(pose.legs, side));
    if (way === 'over-pillow' && props.includes('roll-under-knee')) return legs['over-roll'];
    return legs[way === 'raised-straight' && props.includes('roll-under-heel') ? 'straight' : way];
  };

function legWay(leg: LegPose): LegWay {
  switch (leg.on) {
    case 'sole':
      return Math.abs(leg.outDegrees) > 15 ? 'let-out' : 'bent';
    case 'heel':
      if (leg.kneeDegrees < 15) return 'straight';
      return leg.kneeDegrees < 60 ? 'over-pillow' : 'on-heel';
    case 'nothing':
      return leg.kneeDegrees < 30 ? 'raised-straight' : 'raised-bent';
    case 'over-edge':
      return 'over-edge';
    case 'floor':
      return 'on-floor';
  }
}

function armIn(pose: Pose, side: Side, { arms, handsOn }: FigureWords): InWords {
  const arm = onSide(pose.arms, side);
  if (pose.trunk.is === 'side-lying' && arm.on === 'nothing') return arms['in-front'];
  if (pose.trunk.is === 'standing' && arm.on === 'nothing' && arm.raiseDegrees < 20) return arms['at-side'];
  if (arm.on !== 'body') return arms[armWay(arm)];
  const opposite = onSide(pose.arms, other(side));
  // Both hands behind the thigh of the same leg, whichever.
  const hands = [arm.hand, opposite.on === 'body' ? opposite.hand : null];
  if (hands.includes('behind-knee') && hands.includes('behind-other-knee'))
    return { one: handsOn['behind-other-knee'].both, both: handsOn['behind-other-knee'].both };
  return handsOn[arm.hand];
}

function armWay(arm: Exclude<ArmPose, { on: 'body' }>): ArmWay {
  if (arm.on === 'nothing') {
    if (arm.raiseDegrees < 50) return 'low-in-front';
    return arm.raiseDegrees > 120 ? 'overhead' : 'to-ceiling';
  }
  if (arm.forearm === 'up') return Math.abs(arm.openDegrees) > 20 ? 'forearm-turned-out' : 'forearm-up';
  if (arm.elbowDegrees > 60) return 'elbow-out';
  if (arm.outDegrees < 28) return 'at-side';
  return arm.outDegrees > 50 ? 'out' : 'out-a-little';
}

function marked(
  { moves, presses, tightens, watch, body }: FullPose & { body: Skeleton },
  before: Skeleton,
  side: Side,
  words: FigureWords,
): string[] {
  const told = (phrase: InWords, names: readonly BodyPart[], to: Heading | null) => {
    const { text, areMany } = partsIn(names, side, words);
    return (areMany ? phrase.both : phrase.one)
      .replace('{{part}}', text)
      .replace('{{direction}}', to === null ? '' : headingIn(to, areMany, side, words));
  };
  const ways = moves.map(({ part, to }) => ({ part, to: to ?? wayOf(part, before, body) }));
  const arePaired = ways.length > 1 && ways.every(({ part, to }) => isOutward(part, to, before, body));
  const headings = ways.map(({ part, to }) => ({ part, to: arePaired ? ('outward' as const) : to }));
  return [
    ...grouped<Heading>(headings).map(({ names, to }) => told(words.moves, names, to)),
    ...grouped(presses).map(({ names, to }) => told(words.presses, names, to)),
    ...(tightens.length === 0 ? [] : [told(words.tightens, tightens, null)]),
    ...(watch.length === 0 ? [] : [told({ one: words.watch, both: words.watch }, watch, null)]),
  ];
}

/** Names parts, combining both sides of a pair: "both feet". */
function partsIn(
  names: readonly BodyPart[],
  side: Side,
  words: FigureWords,
): { text: string; areMany: boolean } {
  const told = names.map((name): string => {
    const paired = /^(right|left)-(.+)$/.exec(name);
    if (paired === null) return words.parts[name as SinglePart];
    const pair = words.pairs[paired[2] as PairedPart];
    const isBoth =
      names.includes(`right-${paired[2]}` as BodyPart) && names.includes(`left-${paired[2]}` as BodyPart);
    return isBoth ? pair.both : named(pair.one, paired[1] === 'right' ? side : other(side), words);
  });
  return { text: joined([...new Set(told)], words), areMany: names.length > 1 };
}

/** Both sides moving away from the middle have one direction in words, and two in space. */
type Heading = Direction | 'outward';

function headingIn(to: Heading, areMany: boolean, side: Side, { outward, directions }: FigureWords): string {
  if (to !== 'outward') return directions[ofSide(to, side)];
  return areMany ? outward.both : outward.one;
}

/** Returns whether a part of one side moves away from the middle, even where it moves farther along the bed. */
function isOutward(part: BodyPart, to: Direction, before: Skeleton, after: Skeleton): boolean {
  const side = /^(right|left)-/.exec(part)?.[1];
  if (side === undefined) return false;
  if (to === 'to-right' || to === 'to-left') return to === `to-${side}`;
  const [x, y, z] = subtract(placeOf(part, after), placeOf(part, before));
  const aside = side === 'right' ? z : -z;
  return aside > 0.5 * Math.hypot(x, y, z);
}

/** Groups parts that move the same way. */
function grouped<To>(marks: readonly { part: BodyPart; to: To }[]): { names: BodyPart[]; to: To }[] {
  const groups: { names: BodyPart[]; to: To }[] = [];
  for (const { part, to } of marks) {
    const group = groups.find((each) => each.to === to);
    if (group === undefined) groups.push({ names: [part], to });
    else group.names.push(part);
  }
  return groups;
}

/** Returns the main direction in which a part moved. */
function wayOf(part: BodyPart, before: Skeleton, after: Skeleton): Direction {
  const [x, y, z] = subtract(placeOf(part, after), placeOf(part, before));
  const most = Math.max(Math.abs(x), Math.abs(y), Math.abs(z));
  if (most === Math.abs(x)) return x > 0 ? 'toward-foot' : 'toward-head';
  if (most === Math.abs(y)) return y > 0 ? 'up' : 'down';
  return z > 0 ? 'to-right' : 'to-left';
}

const other = (side: Side): Side => (side === 'right' ? 'left' : 'right');

/** Converts a direction of the right-sided figure for the mirrored one. */
function ofSide(to: Direction, side: Side): Direction {
  if (side === 'right' || (to !== 'to-right' && to !== 'to-left')) return to;
  return to === 'to-right' ? 'to-left' : 'to-right';
}

function joined(names: readonly string[], { and }: FigureWords): string {
  const last = names.at(-1) ?? '';
  return names.length < 2 ? last : `${names.slice(0, -1).join(', ')} ${and} ${last}`;
}

function sentenceOf(text: string): string {
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
}
