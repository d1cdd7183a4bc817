/** Replaces `Date` in this process by one that can be set, as the clock of a machine can; timers stay as they are. */

const RealDate = Date;
let shiftMs = 0;

function shifted(): number {
  return RealDate.now() + shiftMs;
}

globalThis.Date = new Proxy(RealDate, {
  construct: (target, given, newTarget) =>
    Reflect.construct(target, given.length === 0 ? [shifted()] : given, newTarget),
  get: (target, name, receiver) => (name === 'now' ? shifted : Reflect.get(target, name, receiver)),
});

/** The clock is set. */
export function setClock(atMs: number): void {
  shiftMs = atMs - RealDate.now();
}

/** The clock leaps, forward or back. */
export function leap(byMs: number): void {
  shiftMs += byMs;
}
