import type { EasierChoice, ListeningStep } from './report.js';

/** A stored step, with times on the service's clock. */
export type KeptStep = {
  listeningId: string;
  prescriptionId: string;
  versionNumber: number;
  sessionNumber: number;
  slot: string;
  step: ListeningStep;
  positionMs: number;
  atMs: number;
  /** The caregiver who used the page for the patient; null when the patient used it. */
  caregiverId: string | null;
  /** Null for the whole session. */
  choice: EasierChoice | null;
};

/** A summary of one listening. */
export type Listened = Pick<
  KeptStep,
  'listeningId' | 'prescriptionId' | 'versionNumber' | 'sessionNumber' | 'slot' | 'choice'
> & {
  startedAtMs: number;
  /** When the last report about it came. */
  lastAtMs: number;
  /** How long it actually played: the time from each start or resume to the next report, without skipped parts. */
  heardMs: number;
  /** The furthest position in the session that was reported. */
  reachedMs: number;
  finishedAtMs: number | null;
  pauseCount: number;
  /** Total time between pausing and resuming; a pause without a later report adds nothing. */
  pausedMs: number;
  /** When it was last stopped early. */
  stoppedAtMs: number | null;
  /** The caregiver who started it for the patient; null when the patient started it. */
  caregiverId: string | null;
};

/** How far report times can be off: they are whole milliseconds from a busy phone. */
const clockSlackMs = 2_000;

/**
 * The share of a session after which it counts as done, because the last minutes are often rest. Our choice; no source.
 */
const donePart = 0.9;

/** The order in which steps with the same time can have happened. */
const ranks: Readonly<Record<ListeningStep, number>> = {
  started: 0,
  resumed: 1,
  reached: 2,
  paused: 3,
  stopped: 4,
  finished: 5,
};

/**
 * Summarizes steps that may have come late, twice, out of order or from several devices: one entry per listening, in
 * the order in which they started. The result is the same for any order and repetition of the steps.
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

/**
 * Returns whether the session was the full one. An easier session counts as done too, but says nothing about the full
 * dose.
 */
export function isWholeSession({ choice }: Pick<Listened, 'choice'>): boolean {
  return choice === null;
}

/**
 * Rule PLAY-2: returns whether a listening counts as done: it reached the end, or nine tenths of the session were
 * heard.
 *
 * @param durationMs length of the session that was chosen, which may be an easier one
 */
export function isDone(listened: Listened, durationMs: number): boolean {
  return listened.finishedAtMs !== null || listened.heardMs >= donePart * durationMs;
}

/**
 * Returns the result of each slot. A slot that was done once stays done, whatever else was started.
 *
 * @param durationMsOf returns how long the session of a listening is
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

/**
 * Returns how long a listening played. A stretch cannot be longer than the time that passed, because a listener who
 * jumps ahead has not heard what lies between.
 */
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

/** Counts pauses. A pause report while already paused belongs to the same pause. */
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

/**
 * Sorts by time, then by rank, then by anything else that differs, so that the order of arrival has no effect; each
 * step once.
 */
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
