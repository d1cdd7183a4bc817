import type { EasierChoice, ListeningStep } from './report.js';

/** A step as it is kept, on the service's clock. */
export type KeptStep = {
  listeningId: string;
  prescriptionId: string;
  versionNumber: number;
  sessionNumber: number;
  slot: string;
  step: ListeningStep;
  positionMs: number;
  atMs: number;
  /** Who listened in for the patient; null when they did themselves. */
  caregiverId: string | null;
  /** Null for the whole session. */
  choice: EasierChoice | null;
};

/** What is known of one listening. */
export type Listened = Pick<
  KeptStep,
  'listeningId' | 'prescriptionId' | 'versionNumber' | 'sessionNumber' | 'slot' | 'choice'
> & {
  startedAtMs: number;
  /** When the last of it was told. */
  lastAtMs: number;
  /** How long it really played: stretches between going on and the next that was told, without what was skipped. */
  heardMs: number;
  /** The furthest place in the session that was told of. */
  reachedMs: number;
  finishedAtMs: number | null;
  pauseCount: number;
  /** Between pausing and going on; a pause that nothing followed adds none. */
  pausedMs: number;
  /** When it was last broken off. */
  stoppedAtMs: number | null;
  /** Who began it for the patient; null when they did themselves. */
  caregiverId: string | null;
};

/** What the clock of a telling may be off by: reports come in whole milliseconds, from a busy phone. */
const clockSlackMs = 2_000;

/** The part of a session after which it counts as done: the last minutes are often rest. Our choice; no source. */
const donePart = 0.9;

/** In the order in which steps of one moment can have happened. */
const ranks: Readonly<Record<ListeningStep, number>> = {
  started: 0,
  resumed: 1,
  reached: 2,
  paused: 3,
  stopped: 4,
  finished: 5,
};

/**
 * Sums up steps that may have come late, twice, out of order and from several devices: one entry for each listening,
 * in the order of their beginnings. The same for every order and doubling of the steps.
 */
export function sumUp(steps: readonly KeptStep[]): Listened[] {
  const byListening = new Map<string, KeptStep[]>();
  for (const step of inOrder(steps)) {
    const before = byListening.get(step.listeningId);
    if (before === undefined) byListening.set(step.listeningId, [step]);
    else before.push(step);
  }
  return [...byListening.values()].flatMap((ordered) => {
    const [first] = ordered;
    return first === undefined ? [] : [listenedOf(first, ordered)];
  });
}

/** Whether the session was the whole one: an easier one is done too, but says nothing of the full dose. */
export function isWholeSession({ choice }: Pick<Listened, 'choice'>): boolean {
  return choice === null;
}

/**
 * Rule PLAY-2: whether a listening is over: it came to the end, or nine tenths of the session were heard.
 *
 * @param durationMs of the session that was chosen, which may be an easier one
 */
export function isDone(listened: Listened, durationMs: number): boolean {
  return listened.finishedAtMs !== null || listened.heardMs >= donePart * durationMs;
}

/**
 * What came of each slot. Done once is done, whatever else was begun.
 *
 * @param durationMsOf how long the session of a listening is
 */
export function summarizeSlots(
  listenings: readonly Listened[],
  durationMsOf: (listened: Listened) => number,
): Map<string, 'done' | 'begun'> {
  const done = listenings.filter((listened) => isDone(listened, durationMsOf(listened)));
  return new Map([
    ...listenings.map(({ slot }) => [slot, 'begun'] as const),
    ...done.map(({ slot }) => [slot, 'done'] as const),
  ]);
}

function listenedOf(first: KeptStep, ordered: readonly KeptStep[]): Listened {
  const { listeningId, prescriptionId, versionNumber, sessionNumber, slot, caregiverId, choice } = first;
  const atOf = (wanted: ListeningStep) =>
    ordered.filter(({ step }) => step === wanted).map(({ atMs }) => atMs);
  return {
    ...{ listeningId, prescriptionId, versionNumber, sessionNumber, slot, caregiverId, choice },
    startedAtMs: first.atMs,
    lastAtMs: ordered.at(-1)?.atMs ?? first.atMs,
    heardMs: heardMsOf(ordered),
    reachedMs: ordered.reduce((furthestMs, { positionMs }) => Math.max(furthestMs, positionMs), 0),
    finishedAtMs: atOf('finished')[0] ?? null,
    stoppedAtMs: atOf('stopped').at(-1) ?? null,
    ...pausesOf(ordered),
  };
}

/** A stretch cannot be longer than the time that passed; whoever jumps ahead has not heard what lies between. */
function heardMsOf(ordered: readonly KeptStep[]): number {
  let heardMs = 0;
  let from: KeptStep | null = null;
  for (const step of ordered) {
    if (from !== null) {
      const playedMs = Math.max(0, step.positionMs - from.positionMs);
      heardMs += Math.min(playedMs, step.atMs - from.atMs + clockSlackMs);
    }
    const goesOn = step.step === 'started' || step.step === 'resumed' || step.step === 'reached';
    from = goesOn ? step : null;
  }
  return heardMs;
}

/** Pausing what is paused already is still the same pause. */
function pausesOf(ordered: readonly KeptStep[]): { pauseCount: number; pausedMs: number } {
  let [pauseCount, pausedMs] = [0, 0];
  let sinceMs: number | null = null;
  for (const { step, atMs } of ordered) {
    if (step === 'paused' && sinceMs === null) {
      pauseCount += 1;
      sinceMs = atMs;
    } else if (step === 'resumed' && sinceMs !== null) {
      pausedMs += atMs - sinceMs;
      sinceMs = null;
    }
  }
  return { pauseCount, pausedMs };
}

/** By time, then by rank, and then by whatever else differs, so that no order of arrival shows; each step once. */
function inOrder(steps: readonly KeptStep[]): KeptStep[] {
  const once = new Map(steps.map((step) => [identityOf(step), step]));
  return [...once]
    .sort(
      ([oneIdentity, one], [otherIdentity, other]) =>
        one.atMs - other.atMs ||
        ranks[one.step] - ranks[other.step] ||
        one.positionMs - other.positionMs ||
        (oneIdentity < otherIdentity ? -1 : 1),
    )
    .map(([, step]) => step);
}

function identityOf(step: KeptStep): string {
  const { listeningId, prescriptionId, versionNumber, sessionNumber, slot, caregiverId, choice } = step;
  const session = [listeningId, prescriptionId, versionNumber, sessionNumber, slot, caregiverId, choice];
  return JSON.stringify([...session, step.step, step.positionMs, step.atMs]);
}
