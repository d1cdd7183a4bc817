import type { EasierChoice } from './report.js';

/**
 * What a listening page needs to know, made by the service and kept by the phone for when there is no network.
 * Addresses are relative to the page's own.
 */
export type Plan = {
  format: 'stillcount-plan/1';
  /** Clock of the service when it was made, epoch ms; what the phone's clock is wrong by follows from it. */
  nowMs: number;
  /** Until when the phone may use it without having reached the service again. */
  goodUntilMs: number;
  /** Whether someone who cares for the patient listens in for them. */
  isCaregiver: boolean;
  clinic: {
    name: string;
    phone: string;
    emergencyNumber: string;
    /** When it reads notes, in its own words; left out for the usual ones. */
    notesReading?: string;
  };
  /** The service's key for web push (RFC 8292), base64url; left out where no reminders were agreed on. */
  pushKey?: string;
  /** One patient, or all whom a caregiver helps. */
  people: PlannedPerson[];
};

export type PlannedPerson = {
  id: string;
  /** How they are spoken to. */
  spokenName: string;
  /** IANA zone in which their days begin. */
  zone: string;
  /**
   * How far their clocks are ahead of UTC, and from when on, around the days of the plan: the phone's own rules for the
   * zone may be older than the service's. Left out by a plan that was kept before there was this.
   */
  clocks?: { sinceMs: number | null; offsetSeconds: number }[];
  /** Their day today, ISO. */
  day: string;
  /** Whether nothing was ever begun: the check before the first session comes first. */
  isFirst: boolean;
  /** A warning sign was reported and the clinic has not answered yet: nothing is played. */
  isHeld: boolean;
  /** Whether it may be said why: always to the patient, to others as the patient agreed. */
  saysWhyHeld: boolean;
  /** Whether what was done may be shown; always for the patient. */
  showsDone: boolean;
  /** A program of theirs cannot be played as it was signed, and the clinic has to look at it; otherwise left out. */
  isBeingChecked?: true;
  /** As many days of this week as are prescribed have been done: its other days are free. */
  isWeekDone: boolean;
  /** Today's and the next days', in the order of their times. */
  sessions: PlannedSession[];
};

/**
 * `done` was listened to nearly to its end; `begun` stopped on the way; `skipped` was put off; `due` is for now;
 * `later` is still to come; `missed` was not begun on its day, or another one was due in the meantime. A caregiver who
 * may not see what was done gets `later` and `due` only, by the clock.
 */
const sessionStates = ['done', 'begun', 'skipped', 'due', 'later', 'missed'] as const;
export type SessionState = (typeof sessionStates)[number];

export type PlannedSession = {
  prescriptionId: string;
  versionNumber: number;
  /** Which one of the program this will be, from 1: words become fewer as it grows. */
  sessionNumber: number;
  /** Day and place in it, as reports name it: 2026-11-25#1. */
  slot: string;
  title: string;
  dueAtMs: number;
  /** It is for now from then on, inclusive, so that a page that is away from the service knows by its clock. */
  opensAtMs: number;
  /** Until then, exclusive. */
  closesAtMs: number;
  /** About how long it takes, whole minutes. */
  minutes: number;
  state: SessionState;
  /** Address of its {@link PlayedSession}. */
  session: string;
  /** Address of the sound, an MP3 file in any byte range. */
  audio: string;
  /** Address of the words to read. */
  words: string;
  /** Address of its figures, a page of its own. Left out by a plan that was kept before there was this. */
  figures?: string;
  /** What may be chosen in its place on a hard day; left out where nothing may. */
  easier?: EasierSession[];
  /** Which of these it is, once it was chosen; left out for the whole session. */
  choice?: EasierChoice;
};

/** One that may be chosen, and about how long it takes. */
export type EasierSession = { choice: EasierChoice; minutes: number };

/** What a player needs beside the sound. */
export type PlayedSession = {
  title: string;
  durationMs: number;
  chapters: { title: string; startMs: number }[];
  /** Moments of silence between repetitions from which listening can go on, ascending. */
  resumePointsMs: number[];
  /**
   * Which side is worked on from a moment on, until the next or the end of its chapter; left out where no exercise has
   * one, and by what was kept before there was this.
   */
  sides?: { startMs: number; side: 'left' | 'right' }[];
};

/** Sentences that the voice says outside a session, at `prompts/PERSON/KEY.mp3`. */
export const promptKeys = [
  'welcome',
  'voice-check',
  'first-check',
  'go-on-before',
  'go-on-exercise',
  'paused',
  'no-sound',
  'no-network',
  'one-moment',
  'program-changed',
  'page-ended',
  'stop-begin',
  'stop-now',
  'call-now',
  'stop-soon',
  'warning-sent',
  'warning-unsent',
  'sit-up',
  'thanks',
  'thanks-unsent',
  'time-for-session',
  'ask-done',
  'ask-pain-before',
  'ask-pain-after',
  'ask-effort',
  'ask-signs',
  'ask-note',
  'note-no-call',
] as const;
export type PromptKey = (typeof promptKeys)[number];
