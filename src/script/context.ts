import type { Phrases } from '../catalogue/phrases.js';
import type { Line, Phrase, Wording } from '../catalogue/schema.js';
import { speak, type View } from '../catalogue/template.js';
import { adaptationsOfTheWay } from '../program/adapt.js';
import type { AppliedAdaptation, PrescribedExercise, PrescribedProgram } from '../program/prescribed.js';
import { coachingShare } from './fading.js';
import type { Say, Where, Words } from './layout.js';
import { sentenceGapMs } from './rules.js';
import type { CueRole, Side } from './timedScript.js';
import { choose } from './variety.js';

/** What every part of the layout needs to find its words. */
export type Context = {
  program: PrescribedProgram;
  phrases: Phrases;
  /** These words are new to the listener: the first session, or an exercise that is new in a later one. */
  first: boolean;
  /** Shorter set-up wording than the session number alone would give, to meet a time budget. */
  brief: boolean;
  /** Where the words stand, for choosing among variants: an exercise's place and id, or a part of the session. */
  place: string;
  view: View;
  /** What was settled about precautions of this person and concerns these words. */
  adaptations: readonly AppliedAdaptation[];
};

/** The context of the opening or the closing. */
export function sessionContext(program: PrescribedProgram, brief: boolean, place: string): Context {
  const { phrases } = program.catalogue;
  const first = program.session.number === 1;
  const adaptations = adaptationsOfTheWay(program);
  return { program, phrases, first, brief, place, view: sessionView(program, program.setUp), adaptations };
}

/** The context of one exercise: its dose and set-up in words. */
export function exerciseContext(
  program: PrescribedProgram,
  brief: boolean,
  prescribed: PrescribedExercise,
): Context {
  const { phrases } = program.catalogue;
  const first = program.session.number === 1 || prescribed.isNew;
  const view = {
    ...sessionView(program, prescribed.setUp),
    firstSession: first,
    ...doseView(prescribed, phrases),
    eachSide: prescribed.side === 'both' || prescribed.side === 'alternate',
    alternate: prescribed.side === 'alternate',
    ...(prescribed.side === 'left' || prescribed.side === 'right'
      ? sideView(phrases, prescribed.side, null)
      : {}),
  };
  const place = `${prescribed.index}:${prescribed.exercise.id}`;
  return { program, phrases, first, brief, place, view, adaptations: prescribed.adaptations };
}

/** The same context with a side to speak of. */
export function onSide(context: Context, side: Side | null, previous: Side | null): Context {
  if (side === null) return context;
  return { ...context, view: { ...context.view, ...sideView(context.phrases, side, previous) } };
}

/** A number in words, or in digits where the language file has no word for it. */
export function spell(phrases: Phrases, value: number): string {
  return phrases.numbers[value] ?? String(value);
}

/** One wording, its variant chosen by seed, session and place; long and short form. */
export function wordsOf(context: Context, wording: Wording, ...key: readonly (string | number)[]): Words {
  const { number, seed } = context.program.session;
  const variant = wording[choose(wording.length, seed, number, context.place, ...key)] ?? wording[0];
  if (variant === undefined) throw new RangeError('a wording has at least one phrase');
  return formsOf(context, variant);
}

/** Number `index` from a pool of reminders; each session starts elsewhere in the pool. */
export function reminder(context: Context, pool: readonly Phrase[], index: number): Words | null {
  if (pool.length === 0) return null;
  const { number, seed } = context.program.session;
  const phrase = pool[(choose(pool.length, seed, number, context.place, 'coaching') + index) % pool.length];
  return phrase === undefined ? null : formsOf(context, phrase);
}

/** Share of reminders spoken in this session, 0 to 1. */
export function share(context: Context): number {
  return coachingShare(context.program.coaching, context.program.session.number);
}

/** Something said in the flow of talk; the short form once the listener knows it. */
export function say(
  context: Context,
  role: CueRole,
  wording: Wording,
  options: {
    key: string;
    where?: Where;
    gapBeforeMs?: number;
    silenceAfterMs?: number;
    resumeHere?: boolean;
  },
): Say[] {
  const [full, short] = wordsOf(context, wording, options.key);
  const known = context.brief || !context.first;
  const text = known ? (short ?? full) : full;
  if (text === '') return [];
  return [
    {
      item: 'say',
      role,
      words: [text],
      where: options.where ?? {},
      gapBeforeMs: options.gapBeforeMs ?? sentenceGapMs,
      silenceAfterMs: options.silenceAfterMs ?? 0,
      resumeHere: options.resumeHere ?? false,
    },
  ];
}

/** Lines of set-up, safety or talk that belong in this session. */
export function sayLines(
  context: Context,
  role: CueRole,
  lines: readonly Line[],
  options: { key: string; where?: Where; resumeHere?: boolean },
): Say[] {
  const { first } = context;
  return lines.flatMap((line, index) => {
    if (isLeftOut(context, line)) return [];
    if (line.only === 'first' && !first) return [];
    if (line.only === 'later' && first) return [];
    return say(context, role, line.say, {
      ...options,
      key: `${options.key}${index}`,
      silenceAfterMs: Math.round((line.pauseAfterSeconds ?? 0) * 1000),
    });
  });
}

/** What was settled about a precaution may leave out lines that do not hold for this person. */
function isLeftOut({ adaptations }: Context, { tag }: Line): boolean {
  return tag !== undefined && adaptations.some(({ adaptation }) => adaptation.leaveOut.includes(tag));
}

function formsOf(context: Context, phrase: Phrase): Words {
  const full = speak(phrase.full, context.view);
  const short = phrase.short === null ? full : speak(phrase.short, context.view);
  return short === full ? [full] : [full, short];
}

function sessionView(program: PrescribedProgram, setUp: PrescribedProgram['setUp']): View {
  const { phrases } = program.catalogue;
  return {
    name: program.listener?.name,
    firstSession: program.session.number === 1,
    surface: phrases.setUp.surface[setUp.surface],
    headSupport: phrases.setUp.headSupport[setUp.headSupport],
    kneesStraight: setUp.knees === 'straight',
    kneesBent: setUp.knees === 'bent',
    kneesOverPillow: setUp.knees === 'over-pillow',
  };
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
