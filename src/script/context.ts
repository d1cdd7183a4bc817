import type { Phrases } from '../catalogue/phrases.js';
import type { LegPosture } from '../catalogue/posture.js';
import { speak, type View } from '../catalogue/template.js';
import type { Line, Phrase, Wording } from '../catalogue/wording.js';
import { adaptationsOfTheWay } from '../program/adapt.js';
import type { AppliedAdaptation, PrescribedExercise, PrescribedProgram } from '../program/prescribed.js';
import { sessionView } from '../program/sessionView.js';
import { coachingShare } from './fading.js';
import type { OwnTime, Say, Where, Words } from './layout.js';
import { workSets } from './repetitions.js';
import { sentenceGapMs } from './rules.js';
import type { CueRole, Side } from './timedScript.js';
import { choose, chooseStart } from './variety.js';
import type { Step } from './walk.js';

/** Everything a part of the layout needs to choose its words. */
export type Context = {
  program: PrescribedProgram;
  phrases: Phrases;
  /** Whether these words are new to the listener: in the first session, or for an exercise that is added later. */
  first: boolean;
  /** Whether to use shorter set-up wording than the session number alone calls for, to meet a time budget. */
  brief: boolean;
  /** The posture in which the work begins, and the changes that lead into it. Null in the opening and closing. */
  step: Step | null;
  /** Where the words appear, for choosing among variants: an exercise's id, or a part of the session. */
  place: string;
  view: View;
  /** This person's settled precautions that apply to these words. */
  adaptations: readonly AppliedAdaptation[];
};

/** Builds the context of the opening or the closing, and how the legs lie there. */
export function sessionContext(
  program: PrescribedProgram,
  brief: boolean,
  part: { place: string; legs: LegPosture },
): Context {
  const { phrases } = program.catalogue;
  const first = program.session.number === 1;
  const adaptations = adaptationsOfTheWay(program);
  const view = sessionView(program, program.setUp, part.legs);
  return { program, phrases, first, brief, step: null, place: part.place, view, adaptations };
}

/**
 * Builds the context of one exercise: its dose and set-up in words, and the side that it begins with.
 *
 * @param step null for printed words, which are not part of a walk through postures
 */
export function exerciseContext(
  program: PrescribedProgram,
  brief: boolean,
  prescribed: PrescribedExercise,
  step: Step | null,
): Context {
  const { phrases } = program.catalogue;
  const first = program.session.number === 1 || prescribed.isNew;
  const firstSide = workSets(prescribed.side, 1, 1)[0]?.repetitions[0]?.side ?? null;
  const view = {
    ...sessionView(program, prescribed.setUp, step?.posture.legs ?? prescribed.setUp.knees),
    firstSession: first,
    ...doseView(prescribed, phrases),
    eachSide: prescribed.side === 'both' || prescribed.side === 'alternate',
    alternate: prescribed.side === 'alternate',
    ...(firstSide === null ? {} : sideView(phrases, firstSide, null)),
  };
  return {
    ...{ program, phrases, first, brief, step, place: prescribed.exercise.id, view },
    adaptations: prescribed.adaptations,
  };
}

/** Returns the same context with the given side in its view. */
export function onSide(context: Context, side: Side | null, previous: Side | null): Context {
  if (side === null) return context;
  return { ...context, view: { ...context.view, ...sideView(context.phrases, side, previous) } };
}

/** Spells a number in words, or in digits where the language file has no word for it. */
export function spell(phrases: Phrases, value: number): string {
  return phrases.numbers[value] ?? String(value);
}

/** Renders one wording in its long and short form; seed, session and place choose the variant. */
export function wordsOf(context: Context, wording: Wording, ...key: readonly (string | number)[]): Words {
  const { number, seed } = context.program.session;
  const variant = wording[choose(wording.length, number, seed, context.place, ...key)] ?? wording[0];
  if (variant === undefined) throw new RangeError('a wording has at least one phrase');
  return formsOf(context, variant);
}

/**
 * Returns reminder number `index` from a pool; each session starts half a pool further on. Null when the pool is empty.
 */
export function reminder(context: Context, pool: readonly Phrase[], index: number): Words | null {
  if (pool.length === 0) return null;
  const { number, seed } = context.program.session;
  const start = chooseStart(pool.length, number, seed, context.place, 'coaching');
  const phrase = pool[(start + index) % pool.length];
  return phrase === undefined ? null : formsOf(context, phrase);
}

/** Returns the share of reminders spoken in this session, 0 to 1. */
export function share(context: Context): number {
  return coachingShare(context.program.coaching, context.program.session.number);
}

/** Lays out a line spoken in the flow of talk, in its short form once the listener knows it. */
export function say(
  context: Context,
  role: CueRole,
  wording: Wording,
  options: {
    key: string;
    where?: Where;
    gapBeforeMs?: number;
    silenceAfterMs?: number;
    ownTime?: OwnTime;
    resumeHere?: boolean;
    /** Whether placing may fall back on the short form. */
    mayShorten?: boolean;
  },
): Say[] {
  const forms = wordsOf(context, wording, options.key);
  const [full, short] = forms;
  const known = context.brief || !context.first;
  const text = known ? (short ?? full) : full;
  if (text === '') return [];
  return [
    {
      item: 'say',
      role,
      words: options.mayShorten === true && !known ? forms : [text],
      where: options.where ?? {},
      gapBeforeMs: options.gapBeforeMs ?? sentenceGapMs,
      silenceAfterMs: options.silenceAfterMs ?? 0,
      ownTime: options.ownTime ?? null,
      resumeHere: options.resumeHere ?? false,
    },
  ];
}

/** Rule S16: a line is spoken only in the sessions it belongs to, and only where it applies to this person. */
export function isHeard(context: Context, line: Line): boolean {
  if (isLeftOut(context, line)) return false;
  return line.only === undefined || (line.only === 'first') === context.first;
}

/** Returns whether a settled precaution leaves out this line, because it does not apply to this person. */
function isLeftOut({ adaptations }: Context, { tag }: Line): boolean {
  return tag !== undefined && adaptations.some(({ adaptation }) => adaptation.leaveOut.includes(tag));
}

function formsOf(context: Context, phrase: Phrase): Words {
  const full = speak(phrase.full, context.view);
  const short = phrase.short === null ? full : speak(phrase.short, context.view);
  return short === full ? [full] : [full, short];
}

function doseView(prescribed: PrescribedExercise, phrases: Phrases): View {
  const dose: Readonly<Record<string, number>> = prescribed.dose;
  const words = Object.fromEntries(
    Object.entries(dose)
      .filter(([key]) => key !== 'durationSeconds')
      .map(([key, value]) => [key, spell(phrases, value)]),
  );
  const duration = dose.durationSeconds;
  const minutes = duration === undefined ? 0 : Math.floor(duration / 60);
  const seconds = duration === undefined ? 0 : duration % 60;
  return {
    ...words,
    severalSets: (dose.sets ?? 1) > 1,
    severalReps: (dose.reps ?? 1) > 1,
    severalSeconds: (dose.holdSeconds ?? 1) > 1,
    oneMinute: minutes === 1,
    ...(minutes > 0 ? { wholeMinutes: spell(phrases, minutes) } : {}),
    ...(seconds > 0 ? { extraSeconds: spell(phrases, seconds) } : {}),
  };
}

function sideView(phrases: Phrases, side: Side, previous: Side | null): View {
  const other = side === 'left' ? 'right' : 'left';
  return {
    side: phrases.sides[side],
    otherSide: phrases.sides[other],
    previousSide: phrases.sides[previous ?? side],
  };
}
