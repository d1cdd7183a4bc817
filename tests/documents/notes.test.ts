import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fillTemplate } from '../../src/documents/filled.js';
import { makePdf } from '../../src/documents/pdf/makePdf.js';
import type { Block } from '../../src/documents/pdf/paper.js';
import { blocksOfText, plainText } from '../../src/documents/plainText.js';
import {
  type DescriptionData,
  programDescription,
  reportingItems,
} from '../../src/documents/programDescription.js';
import {
  type MeasureNoted,
  type NoteData,
  notePaper,
  progressNote,
  signedNote,
} from '../../src/documents/progressNote.js';
import type { Verdict } from '../../src/followup/change.js';
import { doseInWords } from '../../src/prescription/doseWords.js';
import { timetableInWords } from '../../src/schedule/inWords.js';
import { dayOf, days, easy, history, missed, noonOf, session, version, zone } from '../followup/histories.js';
import { letters, prescriptionOf, texts, words } from './papers.js';
import { hasPoppler, textOf } from './poppler.js';

const change = {
  ...{ prescriptionId: 'program', number: 2, by: 'Ada Brandt', reason: 'Two easy weeks' },
  signedAtMs: noonOf(20),
  differences: [{ where: 'Heel press', change: 'hold 6 s (was 5 s)' }],
};

/** Ten sessions that were wanted in February's first days, eight of them done, with one warning sign. */
function data(more: Partial<NoteData> = {}): NoteData {
  const done = days(20, 28).map((day) =>
    session(day, {
      ...easy,
      painBefore: day < 24 ? 6 : 4,
      effort: 3,
      note: day === 21 ? 'Slept well' : null,
    }),
  );
  return {
    ...{ clinicName: 'Quillmere', personName: 'Rosa Lind', birthYear: 1944 },
    days: { fromDay: dayOf(20), untilDay: dayOf(29) },
    history: history(30, {
      versions: [
        version(1, 0, [{ exercise: 'ankle-pumps' }, { exercise: 'heel-press' }]),
        version(2, 20, [{ exercise: 'ankle-pumps' }, { exercise: 'heel-press', dose: { holdSeconds: 6 } }]),
      ],
      outcomes: [session(10), ...done, missed(28), missed(29)],
    }),
    stateWords: words.prescriptionStates,
    changes: [change, { ...change, number: 3, reason: 'Later', signedAtMs: noonOf(60) }],
    advice: [],
    warnings: [
      {
        atMs: noonOf(25),
        signs: ['I am dizzy'],
        answer: { note: 'Called her', by: 'Ada Brandt', atMs: noonOf(26) },
      },
      { atMs: noonOf(27), signs: [], answer: null },
      { atMs: noonOf(5), signs: ['Long before'], answer: null },
    ],
    measures: [
      {
        name: 'Timed up and go',
        last: { value: '12 s', takenOn: dayOf(28) },
        first: { value: '14.5 s', takenOn: dayOf(2) },
        // Alghadir 2015, BMC Musculoskelet Disord: 1.10 s. CDC STEADI: 12 s.
        change: {
          ...{ amount: '−2.5 s', percent: null, direction: 'better', verdict: 'more' },
          published: {
            needed: '1.1 s',
            percent: null,
            population: 'arthritis of the knee',
            source: 'Alghadir',
          },
        },
        considerations: [{ words: 'From 12 seconds.', loss: null, source: 'STEADI' }],
        belowAverage: null,
      },
    ],
    ...more,
  };
}

describe('a progress note', () => {
  it('says what was prescribed, done, felt, changed, warned of and measured, from the record alone', () => {
    const text = progressNote(texts, data());
    expect(text).toContain('Rosa Lind, born 1944. Quillmere.');
    expect(text).toContain('From January 25, 2026 to February 3, 2026.');
    expect(text).toContain('Version 2, signed on January 25, 2026; 7 sessions a week.');
    expect(text).toMatch(/- Heel press.*: .*hold 6 s/);
    // Wilson 95 %: 8 of 10 gives 0.490 to 0.943 (worked example of the handbook of facts; Newcombe 1998, method 3).
    expect(text).toContain('8 of 10 scheduled sessions done: 80% (95% interval 49 to 94%).');
    expect(text).toContain('Pain before sessions: median 5 (range 4 to 6, 8 answers).');
    expect(text).toContain('Effort: median 3 (8 answers).');
    expect(text).toContain('- Version 2, signed by Ada Brandt on January 25, 2026. Reason: Two easy weeks');
    expect(text).toContain('- Heel press: hold 6 s (was 5 s)');
    expect(text, 'what came later').not.toContain('Reason: Later');
    expect(text).toContain('January 30, 2026: I am dizzy. Action: Called her (Ada Brandt, January 31, 2026)');
    expect(text).toContain('reported that something was wrong, no sign named. Action: not recorded.');
    expect(text, 'what came before').not.toContain('Long before');
    expect(text).toContain(
      'Timed up and go: 12 s on February 2, 2026; 14.5 s on January 7, 2026. Change −2.5 s, better: ' +
        'at least the published number of 1.1 s. Study population: arthritis of the knee (Alghadir).',
    );
    expect(text).toContain('- Consideration for Timed up and go: From 12 seconds. (STEADI)');
    expect(text, 'it leaves the house').not.toMatch(/real change|chance/);
    expect(text).toContain('Skipped: in pain 0, unwell 0, other 0.');
    expect(text).toContain('- January 26, 2026: Slept well');
  });

  it('shows the newest remarks, and says how many more there are', () => {
    const talks = days(1, 81).map((day) => session(day, { ...easy, note: `Remark ${day}.` }));
    const text = progressNote(
      texts,
      data({ days: { fromDay: dayOf(1), untilDay: dayOf(80) }, history: history(82, { outcomes: talks }) }),
    );
    expect(text).toContain('Most recent; 20 older comments are in the record.');
    expect(text.match(/Remark \d+\./g)?.at(0)).toBe('Remark 21.');
    expect(text).toContain('Remark 80.');
  });

  it('compares pain only once the last week begins after the first one, and says by how much at least', () => {
    const tenDays = days(20, 29).map((day) => session(day, { ...easy, painBefore: day < 24 ? 6 : 4 }));
    const early = progressNote(texts, data({ history: history(30, { outcomes: tenDays }) }));
    expect(early, 'ten days').toContain('Too early to compare:');
    const fell = days(15, 29).map((day) => session(day, { ...easy, painBefore: day < 22 ? 6 : 3 }));
    const text = progressNote(
      texts,
      data({
        days: { fromDay: dayOf(15), untilDay: dayOf(28) },
        history: history(30, { outcomes: fell }),
      }),
    );
    // Farrar 2001, Pain 94:149: about 2 points, or about 30 %.
    expect(text).toContain('Decrease of 3 points (50%): at least the smallest decrease that matters');
    expect(text).toContain('Published as either of the two (Farrar 2001');
    expect(text).toContain('requiring both is our choice.');
    expect(text).not.toContain('oo early');
  });

  it('says of every empty part that nothing is recorded, and makes nothing up', () => {
    const empty = { ...data(), changes: [], warnings: [], measures: [] };
    const bare = progressNote(texts, { ...empty, history: { ...empty.history, programs: [] } });
    for (const heading of ['Program', 'Measures', 'Patient comments']) {
      expect(bare).toMatch(new RegExp(`${heading}\n-+\nNot recorded\\.`));
    }
    const idle = progressNote(texts, { ...empty, history: history(30, { outcomes: [] }) });
    expect(idle).toContain('No session was scheduled.');
    expect(idle).toContain('Pain before sessions: not recorded.');
    expect(idle).toContain('Not recorded: fewer than three answers');
    expect(idle).toMatch(/Changes and reasons\n\.+\nNone in this period\./);
    expect(idle).toMatch(/Advice and decisions\n\.+\nNone in this period\./);
    expect(idle).toContain('None reported. No session was started in this period.');
    // Every number in it stands in what it was given.
    expect(idle.match(/\d+ of \d+/)).toBeNull();
  });

  it('says how often nobody reported a sign because nobody was asked, and why sessions were put off', () => {
    const putOff = (['pain', 'pain', 'unwell', 'away'] as const).map((reason, index) =>
      missed(24 + index, { kind: 'excused', excuse: 'unwell', putOff: reason }),
    );
    const outcomes = [session(20), session(21), session(22, { ...easy, signs: null }), session(23, null)];
    const text = progressNote(
      texts,
      data({ warnings: [], history: history(30, { outcomes: [...outcomes, ...putOff] }) }),
    );
    expect(text).toContain(
      'None reported. “None of these” was checked after 2 of 4 sessions that were started or answered.',
    );
    expect(text).toContain('Skipped: in pain 2, unwell 1, other 1.');
  });

  it('says which of two published numbers was reached, and who is below average', () => {
    const published = { needed: '2 points', percent: '30', population: 'lasting pain', source: 'Farrar' };
    const measure = (verdict: Verdict): MeasureNoted => ({
      name: 'Pain',
      last: { value: '7', takenOn: dayOf(28) },
      first: { value: '9', takenOn: dayOf(2) },
      change: { amount: '−2 points', percent: '−22', direction: 'better', verdict, published },
      considerations: [{ words: 'See a doctor.', loss: '2 cm', source: 'BHOF' }],
      belowAverage: {
        // CDC STEADI, 65 to 69: under 12 for men, 11 for women.
        bands: [
          { from: 65, until: 69, men: { cutOff: 12, isBelow: true }, women: { cutOff: 11, isBelow: false } },
        ],
        ...{ words: 'A risk.', source: 'STEADI' },
      },
    });
    const said = (verdict: Verdict) => progressNote(texts, data({ measures: [measure(verdict)] }));
    expect(said('more')).toContain('at least the published number of 2 points and 30%.');
    expect(said('more-by-amount')).toContain('at least the published number of 2 points, but not of 30%.');
    expect(said('more-by-percent')).toContain('at least the published number of 30%, but not of 2 points.');
    expect(said('within')).toContain('less than the published number of 2 points and 30%.');
    expect(said('more')).toContain('- Consideration for Pain (loss: 2 cm): See a doctor. (BHOF)');
    expect(said('more')).toContain(
      'ages 65 to 69: below average for men (under 12), not below average for women (under 11). A risk.',
    );
  });

  it('takes no value for a heading or for a name of the template, whatever it holds', () => {
    const text = progressNote(texts, data({ personName: '# {{reason}} <b>\n## Oh', birthYear: null }));
    expect(text).toContain('# {{reason}} <b> ## Oh. Quillmere.');
    const blocks = fillTemplate(texts, 'progress-note', { personName: '\u0002Oh', clinicName: 'Q' });
    expect(
      blocks.filter(({ kind }) => kind === 'heading').map((each) => ('text' in each ? each.text : '')),
    ).not.toContain('Oh');
  });

  it.skipIf(!hasPoppler)('is the same as PDF, with her words and her name below', async () => {
    const draft = progressNote(texts, data());
    const signed = signedNote(texts, draft, {
      words: 'Doing well.\n\nSee in May.',
      by: 'Ada Brandt',
      when: 'February 4, 2026',
    });
    expect(signed.startsWith(draft)).toBe(true);
    const paper = notePaper(texts, { text: signed, personName: 'Rosa Lind', pageSize: 'a4', madeAtMs: 0 });
    const text = textOf(await makePdf(paper, letters));
    expect(text).toContain('8 of 10 scheduled sessions done: 80% (95% interval 49 to 94%).');
    expect(text).toContain('Doing well. See in May. Signed by Ada Brandt on February 4, 2026.');
  });
});

describe('plain text', () => {
  const line = fc
    .stringMatching(/^[A-Za-z][A-Za-z0-9 ,.]{0,30}[a-z]$/)
    .filter((text) => !/^(={3,}|-{3,}|\.{3,})$/.test(text));
  const block: fc.Arbitrary<Block> = fc.oneof(
    fc.record({ kind: fc.constantFrom('title', 'heading', 'subheading', 'paragraph'), text: line }),
    fc.record({ kind: fc.constant('list' as const), items: fc.array(line, { minLength: 1, maxLength: 3 }) }),
  );

  it('can be read back as what it was written from', () => {
    const isJoined = (blocks: readonly Block[]) =>
      blocks.some(({ kind }, index) => kind === 'list' && blocks[index + 1]?.kind === 'list');
    fc.assert(
      fc.property(
        fc.array(block, { maxLength: 8 }).filter((blocks) => !isJoined(blocks)),
        (blocks) => {
          expect(blocksOfText(plainText(blocks))).toEqual(blocks);
        },
      ),
      { numRuns: 200 },
    );
  });
});

describe('the description of a program', () => {
  const prescription = prescriptionOf(6);
  const described: DescriptionData = {
    ...{ clinicName: 'Quillmere', personName: 'Rosa Lind', title: 'Mornings', zone },
    history:
      history(30, { outcomes: [...days(20, 28).map((day) => session(day)), missed(28), missed(29)] })
        .programs[0] ?? expect.unreachable('there is one program'),
    prescription,
    version: { number: 2, signedAtMs: noonOf(20), by: 'Ada Brandt' },
    prescribers: ['Ada Brandt', 'Ben Okoro'],
    timetable: timetableInWords(prescription, words.schedule),
    changes: [change],
    hasCaregivers: true,
    reminders: 'email',
    harms: ['I am dizzy', 'I am dizzy', 'My heart is racing or skipping beats'],
    added: { '2': 'Licensed since 1998.', '15': '' },
  };
  const text = plainText(programDescription(texts, described));
  const itemText = (item: string) => {
    const start = text.indexOf(`\nItem ${item}. `);
    const end = text.indexOf('\nItem ', start + 1);
    return text.slice(start, end < 0 ? text.length : end);
  };

  it('answers every item of the checklist once, in its order', () => {
    // CERT (Slade and others 2016, Br J Sports Med 50:1428): 16 items; 7, 14 and 16 have two parts.
    const items = [...text.matchAll(/^Item (\w+)\. /gm)].map(([, item]) => item);
    expect(items).toEqual('1 2 3 4 5 6 7a 7b 8 9 10 11 12 13 14a 14b 15 16a 16b'.split(' '));
    expect(items).toEqual([...reportingItems]);
    for (const item of items)
      expect(
        itemText(item ?? '')
          .split('\n')
          .filter(Boolean).length,
        item,
      ).toBeGreaterThan(2);
  });

  it('takes its answers from the prescription, the catalogue and what happened', () => {
    for (const { exercise, dose, side } of prescription.program.exercises) {
      for (const item of exercise.equipment) expect(itemText('1')).toContain(item);
      expect(itemText('7a')).toContain(exercise.ladder.rule);
      for (const step of exercise.how) expect(itemText('8')).toContain(step);
      const name = side === null ? exercise.name : `${exercise.name} (${side})`;
      const words = doseInWords({ ...dose });
      expect(itemText('13')).toContain(`- ${name}: ${words === '' ? 'as the voice tells' : words}`);
      expect(itemText('15')).toContain(exercise.doseSource.text);
    }
    expect(itemText('2')).toContain('Ada Brandt, Ben Okoro');
    expect(itemText('6')).toContain('email');
    expect(itemText('7b')).toContain(
      'Version 2, signed by Ada Brandt on January 25, 2026. Reason: Two easy weeks',
    );
    expect(itemText('11')).toContain('reported: 3.');
    expect(itemText('11')).toContain('I am dizzy: 2');
    expect(itemText('13')).toContain(described.timetable.when);
    expect(itemText('16b')).toContain('8 of 10 scheduled sessions done: 80%');
  });

  it('says what the record does not hold, and takes up what the clinician adds to an item', () => {
    expect(itemText('2'), 'in place of what is not recorded').not.toContain('not recorded');
    expect(itemText('2')).toContain('Added: Licensed since 1998.');
    expect(itemText('10')).toContain('not recorded here');
    expect(itemText('15')).toContain('not recorded here');
    expect(text.match(/^Added:/gm)).toHaveLength(1);
    expect(text).not.toMatch(/\{\{|undefined|\[object/);
  });

  it('makes up no place, company, supervision or tailoring, and a sentence of the clinician stands instead', () => {
    for (const item of ['3', '4', '9', '12', '14a']) {
      expect(itemText(item), item).toMatch(/not recorded/);
      expect(itemText(item), item).not.toMatch(/Alone\.|Unsupervised|[Aa]t home|Tailored to/);
    }
    for (const item of ['4', '9', '12']) {
      expect(itemText(item), item).toContain('Listened to without a clinician present; ');
    }
    const own = 'With her sister, in the ward.';
    const answered = Object.fromEntries(reportingItems.map((item) => [item, own]));
    const full = plainText(programDescription(texts, { ...described, added: answered }));
    expect(full.match(/^Added: With her sister, in the ward\.$/gm)).toHaveLength(reportingItems.length);
    // How long a session takes is of this version, which the history of this test does not have.
    expect(full.match(/^.*not recorded here.*$/gm)).toEqual([
      expect.stringContaining('Minutes a session: not'),
    ]);
    expect(full).not.toContain('without a clinician present');
  });
});
