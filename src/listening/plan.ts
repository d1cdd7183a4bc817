import type { EasierChoice } from './report.js';

/**
 * Everything a listening page needs, made by the service and stored by the phone for times without a network. Addresses
 * are relative to the page's own.
 */
export type Plan = {
  format: 'stillcount-plan/1';
  /** The service's clock when the plan was made, in epoch ms; the phone's clock error follows from it. */
  nowMs: number;
  /** Until when the phone may use the plan without reaching the service again. */
  goodUntilMs: number;
  /** Whether a caregiver uses the page for the patient. */
  isCaregiver: boolean;
  clinic: {
    name: string;
    phone: string;
    emergencyNumber: string;
    /** When the clinic reads notes, in its own words; left out when it uses the standard words. */
    notesReading?: string;
  };
  /** The service's key for web push (RFC 8292), base64url; left out where no reminders are agreed. */
  pushKey?: string;
  /** One patient, or all patients a caregiver helps. */
  people: PlannedPerson[];
};

export type PlannedPerson = {
  id: string;
  /** The name by which they are addressed. */
  spokenName: string;
  /** IANA zone that determines their days. */
  zone: string;
  /**
   * How far their clocks are ahead of UTC, and since when, around the days of the plan. It is here because the phone's
   * own rules for the zone may be older than the service's. Absent from plans stored before this field existed.
   */
  clocks?: { sinceMs: number | null; offsetSeconds: number }[];
  /** Today's date where they live, ISO. */
  day: string;
  /** Whether no session was ever started, so that the check before the first session comes first. */
  isFirst: boolean;
  /** Whether a warning sign was reported and the clinic has not answered yet; nothing is played until then. */
  isHeld: boolean;
  /** Whether the page may say why: always to the patient, to others only as the patient agreed. */
  saysWhyHeld: boolean;
  /** Whether the page may show which sessions were done; always true for the patient. */
  showsDone: boolean;
  /**
   * True when one of their programs cannot be played as it was signed and the clinic has to check it; otherwise left
   * out.
   */
  isBeingChecked?: true;
  /** Whether sessions were done on as many days of this week as prescribed, so that its other days are free. */
  isWeekDone: boolean;
  /** The sessions of today and the next days, in order of time. */
  sessions: PlannedSession[];
};

/**
 * `done`: listened to nearly to the end. `begun`: started but not finished. `skipped`: postponed. `due`: to be done
 * now. `later`: still to come. `missed`: not started on its day, or before the next one was due. A caregiver who may
 * not see what was done gets only `later` and `due`, by the clock.
 */
const sessionStates = ['done', 'begun', 'skipped', 'due', 'later', 'missed'] as const;
export type SessionState = (typeof sessionStates)[number];

export type PlannedSession = {
  prescriptionId: string;
  versionNumber: number;
  /** The session's number in the program, from 1; spoken words become fewer as it grows. */
  sessionNumber: number;
  /** Day and number within the day, as used in reports: 2026-11-25#1. */
  slot: string;
  title: string;
  dueAtMs: number;
  /** From when the session is current, inclusive, so that a page without a connection can tell by its clock. */
  opensAtMs: number;
  /** Until when the session is current, exclusive. */
  closesAtMs: number;
  /** Approximate length in whole minutes. */
  minutes: number;
  state: SessionState;
  /** Address of the session's {@link PlayedSession}. */
  session: string;
  /** Address of the MP3 file, which is served in any byte range. */
  audio: string;
  /** Address of the session's words as text. */
  words: string;
  /** Address of the page with the session's figures. Missing in plans stored before there were figures. */
  figures?: string;
  /** Easier sessions that can replace it on a hard day; left out where there are none. */
  easier?: EasierSession[];
  /** Which of these was chosen; left out for the full session. */
  choice?: EasierChoice;
};

/** An easier session to choose, and its approximate length. */
export type EasierSession = { choice: EasierChoice; minutes: number };

/** What a player needs in addition to the sound. */
export type PlayedSession = {
  title: string;
  durationMs: number;
  chapters: { title: string; startMs: number }[];
  /** Times in the silence between repetitions from which listening can resume, ascending. */
  resumePointsMs: number[];
  /**
   * The working side from a time on, until the next entry or the end of its chapter. Missing where no exercise has one,
   * and in sessions stored before there were figures.
   */
  sides?: { startMs: number; side: 'left' | 'right' }[];
};

/** Keys of the sentences that the voice speaks outside a session, at `prompts/PERSON/KEY.mp3`. */
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
