import { createHash } from 'node:crypto';
import fc from 'fast-check';
import type { FhirRecord, RecordedProgram } from '../../src/documents/fhir/record.js';
import { type Outcome, outcomeKinds } from '../../src/followup/history.js';
import { urgencies } from '../../src/followup/warningSigns.js';
import { amountsDone } from '../../src/listening/report.js';
import { type Timetable, weekdays } from '../../src/prescription/content.js';

/** Any text to any UUID, for tests that do not look at them. */
export function someUuid(name: string): string {
  const hex = createHash('sha256').update(name).digest('hex');
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-5${hex.slice(13, 16)}-8${hex.slice(17, 20)}-${hex.slice(20, 32)}`;
}

const start = Date.UTC(2026, 8, 1, 7);
const day = 24 * 3_600_000;

const everyDay: Timetable = {
  timesADay: 2,
  daysAWeek: 7,
  timesOfDay: ['08:00', '17:30'],
  weekdayTimes: {},
  startsOn: null,
  endsOn: null,
  reviewOn: null,
};

/** Invented: a patient with two versions of a program, a caregiver, check-ins, measures and warning signs. */
export const rosa: FhirRecord = {
  madeAtMs: start + 60 * day,
  clinic: { id: 'clinic', name: 'Quillmere', phone: '+43 1 234' },
  patient: {
    id: 'rosa',
    name: 'Rosa Lind',
    birthYear: 1944,
    language: 'en',
    phone: '',
    email: 'rosa@example.org',
    goals: ['Look up at the birds', ' '],
  },
  clinicians: [{ id: 'ada', name: 'Ada Brandt' }],
  caregivers: [
    {
      id: 'tom',
      name: 'Tom Lind',
      relation: 'son',
      phone: '1',
      email: '',
      createdAtMs: start,
      endedAtMs: null,
    },
  ],
  programs: [
    {
      id: 'morning',
      title: 'Morning',
      state: 'active',
      endedAtMs: null,
      damaged: [],
      versions: [
        {
          number: 1,
          title: 'Morning',
          signedAtMs: start,
          signedBy: 'ada',
          reason: 'First visit',
          timetable: everyDay,
          when: 'Every day at 8:00 AM and 5:30 PM',
          exercises: [
            {
              name: 'Head press',
              dose: ['hold 5 s', 'repetitions 8'],
              durationSeconds: null,
              side: null,
              note: null,
            },
          ],
        },
        {
          number: 2,
          title: 'Morning',
          signedAtMs: start + 20 * day,
          signedBy: 'ada',
          reason: 'Goes well',
          timetable: { ...everyDay, daysAWeek: 3, startsOn: '2026-09-22', endsOn: '2026-12-01' },
          when: 'On any 3 days of the week, at 8:00 AM and 5:30 PM',
          exercises: [
            {
              name: 'Head press',
              dose: ['hold 6 s'],
              durationSeconds: null,
              side: 'Left',
              note: 'Think of the birds',
            },
            { name: 'Quiet rest', dose: ['time 3 min'], durationSeconds: 180, side: null, note: null },
          ],
        },
      ],
      outcomes: [
        outcome('2026-09-02', 1, 'done'),
        outcome('2026-09-23', 2, 'missed'),
        { ...outcome('2026-09-24', 2, 'excused'), putOff: 'pain', excuse: 'unwell' },
        { ...outcome('2026-09-25', 2, 'excused'), excuse: 'off-plan' },
      ],
    },
  ],
  checkIns: [
    {
      id: 'whole',
      prescriptionId: 'morning',
      versionNumber: 1,
      caregiverId: 'tom',
      atMs: start + day,
      receivedAtMs: start + day + 5_000,
      answers: { done: 'all', painBefore: 4, painAfter: 3, effort: 0, signs: [], note: 'It went well' },
      noteRead: { clinicianId: 'ada', atMs: start + 2 * day, found: 'She meant the pillow' },
    },
    {
      id: 'left',
      prescriptionId: 'morning',
      versionNumber: 2,
      caregiverId: null,
      atMs: start + 22 * day,
      receivedAtMs: start + 22 * day,
      answers: { done: 'some', painBefore: null, signs: ['chest-pain', 'gone-sign'] },
      noteRead: null,
    },
  ],
  measures: [
    measure('height', 'Height', 'cm', 161.5),
    measure('timed-up-and-go', 'Timed up and go', 's', 11.2),
    measure('chair-stand-30s', 'Chair stands in 30 seconds', 'stands', 9),
    { ...measure('pain', 'Pain, 0 to 10', '', 4), withdrawnReason: 'mistyped' },
  ],
  warnings: [
    {
      id: 'open',
      prescriptionId: 'morning',
      versionNumber: 2,
      caregiverId: null,
      atMs: start + 30 * day,
      receivedAtMs: start + 30 * day,
      signs: ['Pain or pressure in my chest'],
      urgency: 'emergency',
      answer: null,
    },
    {
      id: 'answered',
      prescriptionId: 'morning',
      versionNumber: 1,
      caregiverId: 'tom',
      atMs: start + 5 * day,
      receivedAtMs: start + 5 * day,
      signs: [],
      urgency: null,
      answer: { note: 'Called: all is well', atMs: start + 5 * day + 60_000, clinicianId: 'ada' },
    },
  ],
  signs: [{ id: 'chest-pain', words: 'Pain or pressure in my chest' }],
};

function measure(measureId: string, name: string, unit: string, value: number) {
  const taken = { takenOn: '2026-09-05', note: '', clinicianId: 'ada', atMs: start + 4 * day };
  return { id: `taken ${measureId}`, measureId, name, unit, value, ...taken, withdrawnReason: null };
}

function outcome(dayOf: string, versionNumber: number, kind: Outcome['kind']): Outcome {
  const heard = { listened: [], checkIns: [], isContradictory: false, putOff: null, excuse: null };
  const dueAtMs = Date.parse(`${dayOf}T06:00:00Z`);
  return { slot: `${dayOf}#1`, day: dayOf, isPlanned: true, dueAtMs, versionNumber, kind, ...heard };
}

const anyText = fc.oneof(
  fc.string({ unit: 'binary', maxLength: 30 }),
  fc.constantFrom('', ' ', 'José 🙂', 'a\u00a0b', '=1+1', '<b>&', 'يد'),
);
const anyAtMs = fc.integer({ min: start, max: start + 90 * day });
const scale = fc.option(fc.option(fc.integer({ min: 0, max: 10 })), { nil: undefined });
const anyIndex = fc.nat({ max: 5 });

const anyTimetable: fc.Arbitrary<Timetable> = fc
  .record({
    timesADay: fc.integer({ min: 1, max: 3 }),
    daysAWeek: fc.integer({ min: 1, max: 7 }),
    free: fc.subarray([...weekdays], { maxLength: 6 }),
    startsOn: fc.option(fc.constantFrom('2026-09-01', '2026-10-01')),
    endsOn: fc.option(fc.constantFrom('2026-11-01', '2026-12-01')),
  })
  .map(({ timesADay, daysAWeek, free, startsOn, endsOn }) => ({
    ...{ timesADay, timesOfDay: [], startsOn, endsOn, reviewOn: null },
    daysAWeek: Math.min(daysAWeek, 7 - free.length),
    weekdayTimes: Object.fromEntries(free.map((weekday) => [weekday, []])),
  }));

const anyExercise = fc.record({
  name: anyText,
  dose: fc.array(anyText, { maxLength: 3 }),
  durationSeconds: fc.option(fc.integer({ min: 1, max: 900 })),
  side: fc.option(anyText),
  note: fc.option(anyText),
});

const anyProgram = (index: number): fc.Arbitrary<RecordedProgram> =>
  fc
    .record({
      title: anyText,
      state: fc.constantFrom('active', 'paused', 'ended'),
      versions: fc.array(
        fc.record({
          title: anyText,
          reason: anyText,
          when: anyText,
          timetable: anyTimetable,
          exercises: fc.array(anyExercise, { minLength: 1, maxLength: 3 }),
        }),
        { minLength: 1, maxLength: 3 },
      ),
      hasDamaged: fc.boolean(),
      outcomes: fc.array(
        fc.record({ version: anyIndex, kind: fc.constantFrom(...outcomeKinds), day: fc.nat({ max: 80 }) }),
        { maxLength: 4 },
      ),
    })
    .map(({ title, state, versions, hasDamaged, outcomes }) => ({
      ...{ id: `program ${index}`, title, state },
      endedAtMs: state === 'ended' ? start + 91 * day : null,
      damaged: hasDamaged ? [versions.length + 1] : [],
      versions: versions.map((version, at) => ({
        ...version,
        number: at + 1,
        signedAtMs: start + at * day,
        signedBy: 'ada',
      })),
      outcomes: outcomes.map(({ version, kind, day: after }) =>
        outcome(
          new Date(start + after * day).toISOString().slice(0, 10),
          (version % versions.length) + 1,
          kind,
        ),
      ),
    }));

const anyReport = fc.record({
  prescriptionId: anyIndex.map((index) => `program ${index}`),
  versionNumber: fc.integer({ min: 1, max: 4 }),
  caregiverId: fc.option(fc.constantFrom('tom', 'gone')),
  atMs: anyAtMs,
  receivedAtMs: anyAtMs,
});

const anyCheckIn = fc.tuple(
  anyReport,
  fc.record(
    {
      done: fc.option(fc.constantFrom(...amountsDone)),
      painBefore: scale,
      painAfter: scale,
      effort: scale,
      signs: fc.option(fc.subarray(['chest-pain', 'gone-sign'])),
      note: fc.option(anyText),
    },
    { requiredKeys: [] },
  ),
);

const anyWarning = fc.record({
  report: anyReport,
  signs: fc.array(anyText, { maxLength: 2 }),
  urgency: fc.option(fc.constantFrom(...urgencies)),
  answer: fc.option(fc.record({ note: anyText, atMs: anyAtMs, clinicianId: fc.constant('ada') })),
});

/** Any history: any texts, any number of programs and versions, reports about what is no more there. */
export const anyRecord: fc.Arbitrary<FhirRecord> = fc
  .record({
    name: anyText,
    birthYear: fc.option(fc.integer({ min: 1900, max: 2100 })),
    phone: anyText,
    goals: fc.array(anyText, { maxLength: 3 }),
    relation: anyText,
    programs: fc
      .nat({ max: 2 })
      .chain((count) => fc.tuple(...Array.from({ length: count }, (_, index) => anyProgram(index)))),
    checkIns: fc.array(anyCheckIn, { maxLength: 4 }),
    warnings: fc.array(anyWarning, { maxLength: 2 }),
    measure: fc.record({ name: anyText, unit: anyText, note: anyText, withdrawnReason: fc.option(anyText) }),
  })
  .map(({ name, birthYear, phone, goals, relation, programs, checkIns, warnings, measure: measured }) => ({
    ...rosa,
    patient: { ...rosa.patient, name, birthYear, phone, goals },
    caregivers: rosa.caregivers.map((caregiver) => ({ ...caregiver, relation })),
    programs,
    checkIns: checkIns.map(([report, answers], index) => ({
      id: `check-in ${index}`,
      ...report,
      answers,
      noteRead: null,
    })),
    warnings: warnings.map(({ report, ...warning }, index) => ({
      id: `warning ${index}`,
      ...report,
      ...warning,
    })),
    measures: [{ ...measure('own', 'x', 'y', 0.5), ...measured }],
  }));
