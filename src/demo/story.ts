import type { Person } from '../clinic/people/people.js';
import type { Timetable } from '../prescription/content.js';
import type { CaregiverDetails } from '../store/people/caregivers.js';
import type { Settled } from '../store/reminding/deliveries.js';
import type { KeptReminderRules } from '../store/reminding/reminderRules.js';
import type { BreakKind } from '../store/schema/reminderSchema.js';
import type { ConsentKind } from '../store/schema/schema.js';

/**
 * Invented people of an invented clinic, for trying Stillcount out: what was recorded about them over eight
 * weeks. No one here exists.
 */

/** What happened; settlements are made as the rules ask. */
export type Happening =
  | { do: 'screen'; yes: Readonly<Record<string, string>> }
  | {
      do: 'sign';
      /** A starter to begin with; without one, the newest version is changed. */
      starter?: string;
      /** Where the starter leaves the side to be chosen. */
      side?: 'left' | 'right';
      doses?: Readonly<Record<string, Readonly<Record<string, number>>>>;
      add?: readonly string[];
      timesADay?: number;
      weekdayTimes?: Timetable['weekdayTimes'];
      /** After how many days from now it is to be looked at again. */
      reviewInDays?: number;
      reason: string;
    }
  | { do: 'paused' | 'active' | 'ended'; reason: string }
  | { do: 'caregiver'; details: CaregiverDetails; agreedTo: readonly ConsentKind[] }
  | { do: 'consent'; kind: ConsentKind; isGiven: boolean; note: string }
  | { do: 'agree'; rules: KeptReminderRules }
  | { do: 'break'; kind: BreakKind; fromDaysAgo: number; days: number; note: string }
  | { do: 'keep'; title: string }
  | { do: 'activity'; name: string }
  /** What was measured, by the measure's id or the activity's name, as someone types it. */
  | { do: 'measure'; values: Readonly<Record<string, string>> };

/** How someone listens. */
export type Listens = {
  /** The share of their sessions that they do. */
  keeps: number;
  /** Pain from 0 to 10, at the beginning and now. */
  pain: readonly [number, number];
  /** How hard it is for them, from 0 to 10. */
  effort: number;
};

/** Who was reminded by email; what did not go well, by how many days ago. */
export type Reminded = {
  troubles: Readonly<Record<number, Partial<Pick<Settled, 'state' | 'why' | 'isLate'>>>>;
};

/** One person: who they are, what happened how many days ago, and how they listen, if they do. */
export type Story = {
  person: Pick<Person, 'name' | 'zone'> & Partial<Person>;
  days: readonly (readonly [number, ...Happening[]])[];
  listens?: Listens;
  reminded?: Reminded;
};

export const demoClinic = {
  clinicName: 'Quillmere Practice (demo)',
  zone: 'Europe/Vienna',
  name: 'Ada Brandt',
  email: 'ada@demo.invalid',
};

const zone = 'Europe/Vienna';
const reminders: Happening = { do: 'consent', kind: 'reminders', isGiven: true, note: 'by email' };

export const stories: readonly Story[] = [
  {
    person: {
      name: 'Rosa Lind',
      birthYear: 1944,
      zone,
      phone: '0100 555 01',
      email: 'rosa@example.org',
      hearingNotes: 'Left ear is better; louder than most.',
      goals: ['Look up at the birds from the balcony', 'Stand at the stove without a tired back'],
    },
    listens: { keeps: 0.9, pain: [5, 2], effort: 2 },
    reminded: {
      troubles: {
        4: { isLate: true },
        9: { state: 'dropped', why: 'begun' },
        12: { state: 'missed', why: 'too-late' },
      },
    },
    days: [
      [
        56,
        { do: 'screen', yes: { osteoporosis: 'hip T −2.8, treated since 2021' } },
        { do: 'sign', starter: 'first', reason: 'First visit; a gentle start, chin level on a folded towel' },
        reminders,
        {
          do: 'agree',
          rules: {
            quietFrom: '20:30',
            quietUntil: '08:00',
            graceMinutes: 90,
            caregiverAfterMinutes: null,
            quietAfterDays: 3,
          },
        },
        { do: 'activity', name: 'Stand at the stove for ten minutes' },
        {
          do: 'measure',
          values: {
            'height-in-youth': '164 cm',
            height: '158,5 cm',
            'occiput-to-wall': '7.5',
            'blocks-under-head': '3',
            'chair-stand-30s': '8',
            'timed-up-and-go': '13.4 s',
            'Stand at the stove for ten minutes': '3',
          },
        },
      ],
      [
        42,
        {
          do: 'sign',
          doses: { 'head-press': { holdSeconds: 6 } },
          reason: 'Two easy weeks, no pain the next day',
        },
      ],
      [
        28,
        {
          do: 'sign',
          doses: { 'head-press': { holdSeconds: 6, reps: 8 }, 'upper-arm-press': { reps: 8 } },
          reason: 'Chin stays level through all five; eight now',
        },
        {
          do: 'measure',
          values: {
            'occiput-to-wall': '6,8 cm',
            'blocks-under-head': '2',
            'chair-stand-30s': '10',
            'timed-up-and-go': '12.6',
            'Stand at the stove for ten minutes': '5',
          },
        },
        {
          do: 'break',
          kind: 'holiday',
          fromDaysAgo: 24,
          days: 5,
          note: 'At her sister’s, without her phone',
        },
      ],
      [
        14,
        {
          do: 'sign',
          add: ['stick-raise'],
          weekdayTimes: { sunday: ['10:30'] },
          reviewInDays: 9,
          reason: 'Reaches easily; both arms with the stick, short of end range',
        },
        { do: 'keep', title: 'Upper back, fourth visit' },
        {
          do: 'measure',
          values: {
            'occiput-to-wall': '6.0',
            'blocks-under-head': '2',
            'chair-stand-30s': '11',
            'timed-up-and-go': '11.9',
            'Stand at the stove for ten minutes': '6',
          },
        },
      ],
    ],
  },
  {
    person: {
      name: 'Emil Tarn',
      birthYear: 1939,
      zone,
      email: 'emil@example.org',
      goals: ['Walk to the bakery and back'],
    },
    reminded: { troubles: { 1: { state: 'failed', why: 'mail-unreachable' } } },
    listens: { keeps: 0.7, pain: [6, 3], effort: 4 },
    days: [
      [
        50,
        {
          do: 'screen',
          yes: {
            'hip-operation': 'right, ten days ago; no rotation, flexion to 90 degrees',
            'fall-risk': '',
          },
        },
        {
          do: 'sign',
          starter: 'after-joint-replacement',
          side: 'right',
          timesADay: 2,
          reason: 'Home after surgery',
        },
        {
          do: 'caregiver',
          details: { name: 'Grete Tarn', relation: 'wife', phone: '0100 555 02', email: 'grete@example.org' },
          agreedTo: ['caregiver-reminded', 'caregiver-told-not-begun', 'caregiver-sees-done'],
        },
        reminders,
        { do: 'measure', values: { 'timed-up-and-go': '24 s', pain: '6' } },
      ],
      [36, { do: 'paused', reason: 'Back in the hospital for a wound check' }],
      [31, { do: 'active', reason: 'Wound is healing well; surgeon agrees' }],
      [
        22,
        {
          do: 'sign',
          doses: { 'heel-slide': { reps: 10 } },
          reason: 'Flexes more easily, still within 90 degrees',
        },
        { do: 'measure', values: { 'timed-up-and-go': '17.5', pain: '3' } },
      ],
    ],
  },
  {
    person: { name: 'Ines Moor', birthYear: 1951, zone, goals: ['Fall asleep without worrying'] },
    listens: { keeps: 0.93, pain: [1, 1], effort: 1 },
    days: [
      [
        47,
        { do: 'screen', yes: { 'treated-blood-pressure': 'tablets, 135 over 80' } },
        { do: 'sign', starter: 'breathing-and-relaxation', reason: 'Tense, but not short of breath' },
      ],
      [19, { do: 'sign', timesADay: 2, reason: 'Would like a second session before lunch' }],
    ],
  },
  {
    person: {
      name: 'Karl Wend',
      birthYear: 1947,
      zone,
      hearingNotes: 'Two hearing aids; takes them out to lie down.',
    },
    listens: { keeps: 0.45, pain: [4, 4], effort: 3 },
    days: [
      [
        40,
        { do: 'screen', yes: { 'memory-problems': 'daughter helps mornings', osteoporosis: '' } },
        { do: 'sign', starter: 'first', reason: 'With his daughter beside him' },
        {
          do: 'caregiver',
          details: {
            name: 'Jule Wend',
            relation: 'daughter',
            phone: '0100 555 03',
            email: 'jule@example.org',
          },
          agreedTo: [
            'caregiver-reminded',
            'caregiver-told-not-begun',
            'caregiver-sees-done',
            'caregiver-told-of-warnings',
          ],
        },
      ],
    ],
  },
  {
    person: { name: 'Ottilie Brand', birthYear: 1936, zone, goals: ['Dress without help'] },
    listens: { keeps: 0.8, pain: [3, 3], effort: 4 },
    days: [
      [
        54,
        { do: 'screen', yes: { osteoporosis: '' } },
        { do: 'sign', starter: 'first', reason: 'Careful start after an inactive year' },
      ],
      [
        33,
        {
          do: 'sign',
          doses: { 'rest-arms-open': { durationSeconds: 420 } },
          reason: 'Comfortable lying down; seven minutes',
        },
      ],
      [
        2,
        {
          do: 'screen',
          yes: {
            osteoporosis: '',
            'spinal-fracture': 'sharp pain after lifting a pot; X-ray on Friday',
            'new-back-pain': '',
          },
        },
      ],
    ],
  },
  {
    person: { name: 'Jonas Perl', birthYear: 1958, zone },
    listens: { keeps: 0.5, pain: [3, 1], effort: 2 },
    days: [
      [
        56,
        { do: 'screen', yes: {} },
        { do: 'sign', starter: 'first', reason: 'Stiff upper back from desk work' },
      ],
      [9, { do: 'ended', reason: 'Continues on his own' }],
    ],
  },
  {
    person: { name: 'Mara Vint', birthYear: 1949, zone, goals: ['Carry the grandchild up the stairs'] },
    days: [[1, { do: 'screen', yes: { 'arm-tingling': 'tingling left hand at night' } }]],
  },
  { person: { name: 'Leo Hask', birthYear: 1953, zone }, days: [] },
];
