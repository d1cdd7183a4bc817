import type { Frame, Panel } from '../../figure/figure.js';
import { type Reach, reachOfPath } from './pathReach.js';

/** Around what a figure reaches, in centimeters of the body. */
const room = 7;
/** What has no end of its own: it is cut off where the figure ends. */
const endless = new Set(['bed', 'floor']);

/**
 * Frames cut down to what is drawn, as paper has no room to give away: the same for all poses that share a view, so
 * that what stays is seen to stay.
 */
export function closeFrames(panels: readonly Panel[]): Frame[] {
  const reaches = panels.map(reachOf);
  return panels.map(({ frame }) => {
    const alike = reaches.filter((_, index) => isSameFrame(panels[index]?.frame, frame));
    const left = Math.max(frame.left, Math.min(...alike.map((reach) => reach.left)) - room);
    const top = Math.max(frame.top, Math.min(...alike.map((reach) => reach.top)) - room);
    const right = Math.min(frame.left + frame.width, Math.max(...alike.map((reach) => reach.right)) + room);
    const bottom = Math.min(frame.top + frame.height, Math.max(...alike.map((reach) => reach.bottom)) + room);
    return { left, top, width: right - left, height: bottom - top };
  });
}

/** A paper is tried in several sizes; how far a panel reaches does not depend on them. */
const known = new WeakMap<Panel, Reach>();

function reachOf(panel: Panel): Reach {
  const reach = known.get(panel) ?? measured(panel);
  known.set(panel, reach);
  return reach;
}

function measured({ shapes }: Panel): Reach {
  const reaches = shapes
    .filter(({ role }) => !endless.has(role))
    .map(({ d, lineCm = 0 }) => ({ ...reachOfPath(d), half: lineCm / 2 }));
  return {
    left: Math.min(...reaches.map(({ left, half }) => left / 10 - half)),
    top: Math.min(...reaches.map(({ top, half }) => top / 10 - half)),
    right: Math.max(...reaches.map(({ right, half }) => right / 10 + half)),
    bottom: Math.max(...reaches.map(({ bottom, half }) => bottom / 10 + half)),
  };
}

function isSameFrame(one: Frame | undefined, other: Frame): boolean {
  return one?.left === other.left && one.top === other.top && one.height === other.height;
}
