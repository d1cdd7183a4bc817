/** How a figure moves, in seconds: out, staying there, back, and resting before the next time. */
export type Pace = { outSeconds: number; staySeconds: number; backSeconds: number; restSeconds: number };

/** As the page of figures writes it: four numbers. Null for anything else. */
export function paceFrom(text: string | undefined): Pace | null {
  const numbers = (text ?? '').split(' ').map(Number);
  const [outSeconds = 0, staySeconds = 0, backSeconds = 0, restSeconds = 0] = numbers;
  const isPace = numbers.length === 4 && numbers.every((seconds) => seconds >= 0);
  return isPace && outSeconds > 0 && backSeconds > 0
    ? { outSeconds, staySeconds, backSeconds, restSeconds }
    : null;
}

/** How far a figure has come on its way at a moment, from 0 to 1; evenly, so that it is never faster than its pace. */
export function shareAt({ outSeconds, staySeconds, backSeconds, restSeconds }: Pace, atMs: number): number {
  const wholeSeconds = outSeconds + staySeconds + backSeconds + restSeconds;
  const seconds = (atMs / 1_000) % wholeSeconds;
  if (seconds < outSeconds) return seconds / outSeconds;
  const backAt = outSeconds + staySeconds;
  if (seconds < backAt) return 1;
  return Math.max(0, 1 - (seconds - backAt) / backSeconds);
}

/** Path data on its way from step to step; where two steps have other commands, the nearer one. */
export function pathAt(steps: readonly string[], share: number): string {
  const { before, after, between } = placeIn(steps, share);
  const [from, to] = [tokensOf(before), tokensOf(after)];
  const isAlike = from.length === to.length && from.every((token, index) => isLike(token, to[index]));
  if (!isAlike) return between < 0.5 ? before : after;
  return from
    .map((token, index) => {
      if (!isNumber(token)) return token;
      const [start, end] = [Number(token), Number(to[index])];
      return String(Math.round((start + (end - start) * between) * 10) / 10);
    })
    .join(' ');
}

/** Between which two steps a share of the way lies, and how far from the first to the second. */
export function placeIn(
  steps: readonly string[],
  share: number,
): { before: string; after: string; between: number } {
  const at = Math.min(1, Math.max(0, share)) * (steps.length - 1);
  const index = Math.floor(at);
  const before = steps[index] ?? '';
  return { before, after: steps[index + 1] ?? before, between: at - index };
}

function tokensOf(path: string): string[] {
  return path.match(/[a-zA-Z]|-?\d+(?:\.\d+)?/g) ?? [];
}

function isNumber(token: string): boolean {
  return /\d/.test(token);
}

function isLike(token: string, other: string | undefined): boolean {
  return other !== undefined && (isNumber(token) ? isNumber(other) : token === other);
}
