import { describe, expect, it } from 'vitest';
import type { Block } from '../../src/documents/pdf/paper.js';
import { plainText } from '../../src/documents/plainText.js';
import { type DescriptionData, programDescription } from '../../src/documents/programDescription.js';
import { type NoteData, progressNote } from '../../src/documents/progressNote.js';
import { timetableInWords } from '../../src/schedule/inWords.js';
import { dayOf, days, easy, history, missed, noonOf, session, version, zone } from '../followup/histories.js';
import { prescriptionOf, texts, words } from './papers.js';

/** How many there are of whatever a paper counts or lists. */
const counts = [0, 1, 2, 20] as const;

/** What no sentence of American English has, whatever was filled into it. */
const faults: readonly { what: string; pattern: RegExp }[] = [
  { what: 'a word twice', pattern: /\b(from|to|the|of|in|was|a|and) \1\b|\bfrom to\b/i },
  { what: 'one of many', pattern: /\b1 (sessions|answers|points|minutes|versions|days|times)\b/ },
  { what: 'many of one', pattern: /\b([02-9]|\d\d+) (session|answer|point|minute|version)\b(?! \d)/ },
  { what: 'a gap where a value should stand', pattern: / {2}| [.,;:)]|\( |\(\)|: *[.;]|, *[.,;]/ },
  { what: 'a value that is none', pattern: /undefined|null|NaN|Infinity|\[object/ },
  { what: 'a dash for what is not there', pattern: / — (to|from)|(from|to|on) —/ },
];

function faultsIn(text: string): string[] {
  return text
    .split('\n')
    .flatMap((line) =>
      faults.filter(({ pattern }) => pattern.test(line)).map(({ what }) => `${what}: ${line.trim()}`),
    );
}

const change = (number: number) => ({
  ...{ prescriptionId: 'program', number, by: 'Ada Brandt', reason: 'Two easy weeks' },
  signedAtMs: noonOf(20),
  differences: [
    { where: 'Heel press', change: 'hold 6 s (was 5 s)' },
    { where: 'How long', change: 'review date 2026-03-01 (was none)' },
  ],
});

function historyOf(count: number) {
  return history(40, {
    versions: [version(1, 0, [{ exercise: 'ankle-pumps' }, { exercise: 'heel-press' }].slice(0, count + 1))],
    outcomes: [
      ...days(1, 1 + count).map((day) => session(day, { ...easy, painBefore: 3, painAfter: 6, effort: 2 })),
      ...days(35, 35 + Math.min(count, 4)).map((day) => missed(day, { kind: 'excused', putOff: 'pain' })),
    ],
  });
}

function noteOf(count: number): string {
  const numbers = Array.from({ length: count }, (_, index) => index + 2);
  const data: NoteData = {
    ...{ clinicName: 'Quillmere', personName: 'Rosa Lind', birthYear: count === 0 ? null : 1944 },
    days: { fromDay: dayOf(0), untilDay: dayOf(39) },
    history: historyOf(count),
    stateWords: words.prescriptionStates,
    changes: numbers.map(change),
    advice: numbers.map(() => ({
      ...{ prescriptionId: 'program', atMs: noonOf(21), kind: 'Step up', about: 'Heel press' },
      ...{ answer: 'accepted', by: 'Ada Brandt', reason: '' },
    })),
    warnings: numbers.map(() => ({ atMs: noonOf(22), signs: ['I am dizzy'], answer: null })),
    measures: [],
  };
  return progressNote(texts, data);
}

function descriptionOf(count: number): string {
  const prescription = prescriptionOf(count + 1);
  const numbers = Array.from({ length: count }, (_, index) => index + 2);
  const data: DescriptionData = {
    ...{ clinicName: 'Quillmere', personName: 'Rosa Lind', title: 'Mornings' },
    history: historyOf(count).programs[0] ?? historyOf(1).programs[0] ?? fail(),
    zone,
    prescription,
    version: { number: 1, signedAtMs: noonOf(0), by: 'Ada Brandt' },
    prescribers: ['Ada Brandt'],
    timetable: timetableInWords(prescription, words.schedule),
    changes: numbers.map(change),
    hasCaregivers: count > 0,
    reminders: '',
    harms: numbers.map(() => 'I am dizzy'),
    added: {},
  };
  return plainText(programDescription(texts, data) satisfies Block[]);
}

function fail(): never {
  throw new Error('a history has a program');
}

describe('generated sentences', () => {
  it.each(counts)('of a progress note are grammatical with %i of everything', (count) => {
    expect(faultsIn(noteOf(count))).toEqual([]);
  });

  it.each(counts)('of a program description are grammatical with %i of everything', (count) => {
    expect(faultsIn(descriptionOf(count))).toEqual([]);
  });

  it('are told apart from faulty ones by this test', () => {
    const faulty = ['It went from to 5', '1 answers', '2 session ', 'Pain: .', 'on — to', 'was undefined'];
    for (const line of faulty) expect(faultsIn(line), line).not.toEqual([]);
  });
});

describe('a program description', () => {
  it('says what changed for what, breath pace and intensity, and counts pain rises and sessions put off', () => {
    const text = descriptionOf(2);
    expect(text).toContain('In version 2, Heel press: hold 6 s (was 5 s)');
    // 4 s in and 5 s out: 60 / 9 = 6.7 breaths a minute, by arithmetic.
    expect(text).toContain('Breathing pace: 4 s in, 5 s out; 6.7 breaths a minute.');
    expect(text).toContain('Effort reported after sessions, 0 to 10: median 2 (2 answers).');
    expect(text).toContain('Sessions after which pain was higher by 2 of 10 or more: 2 of 2');
    expect(text).toContain('Sessions skipped: 2 (in pain 2, unwell 0, for another reason 0).');
  });
});
