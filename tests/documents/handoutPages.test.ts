import { readFile } from 'node:fs/promises';
import fc from 'fast-check';
import qrcode from 'qrcode';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { prescribedFigure } from '../../src/documents/figures/exerciseFigure.js';
import { type Handout, handout } from '../../src/documents/handout.js';
import { drawHandout } from '../../src/documents/handoutFigures.js';
import { marginOf } from '../../src/documents/handoutSheets.js';
import type { Page } from '../../src/documents/pdf/drawn.js';
import { layOut } from '../../src/documents/pdf/layOut.js';
import { makePdf } from '../../src/documents/pdf/makePdf.js';
import { type Paper, pageSizes } from '../../src/documents/pdf/paper.js';
import { plainText } from '../../src/documents/plainText.js';
import { listSettledLines } from '../../src/documents/settledFor.js';
import { offeredSigns, type WarningSign } from '../../src/followup/warningSigns.js';
import { type ReadPrescription, readPrescription } from '../../src/prescription/content.js';
import { timetableInWords } from '../../src/schedule/inWords.js';
import { findingsOf, lyingDownAndGettingUp } from '../../src/screening/findings.js';
import { settlementSchema, withRules } from '../../src/screening/settlements.js';
import { readInterview } from '../../src/session/readClinicWords.js';
import { catalogue, catalogues, letters, prescriptionOf, texts, warningSigns, words } from './papers.js';
import { hasPoppler, infoOf, pictureOf, structureOf, textOf } from './poppler.js';
import { gradeOf, sentencesOf, syllablesOf } from './readingLevel.js';

if (catalogue === undefined) throw new Error('the tests need the English catalogue');
const exercises = [...catalogue.exercises.values()];
const onBack = exercises.filter(({ path }) => path.from.position === 'supine' && path.to === undefined);
const interview = await readInterview('audio-templates', catalogues);
const { modules } = qrcode.create(`https://clinic.example.org/l/${'k'.repeat(43)}/`, {
  errorCorrectionLevel: 'M',
});
const access = {
  square: { size: modules.size, isDark: (row: number, column: number) => modules.get(row, column) === 1 },
  ...{ code: 'K7M4P 2XRTQ', typedAt: 'https://clinic.example.org/l', until: 'May 25, 2027', hasPin: true },
};
const oneLine = (text: string) => text.replaceAll(/\s+/g, ' ').trim();

function paperFor(prescription: ReadPrescription, more: Partial<Handout> = {}): Paper {
  return handout(texts, {
    clinic: { name: 'Quillmere', phone: '01 234 567', emergencyNumber: '144', zone: 'Europe/Vienna' },
    ...{ personName: 'Rosa Lind', programTitle: 'Tall mornings', prescription, warningSigns, access },
    ...{ pageSize: null, isLargePrint: false, ticksEachDay: 0 },
    ...{ timetable: timetableInWords(prescription, words.schedule) },
    ...{ signedAtMs: Date.UTC(2026, 10, 26), madeAtMs: Date.UTC(2026, 10, 26, 9) },
    ...more,
  });
}

/** A prescription of exercises on the back, with precautions settled as their rules ask. */
function prescriptionWith(ids: readonly string[], precautionIds: readonly string[]): ReadPrescription {
  const answers = Object.fromEntries(
    precautionIds.map((id) => [id, { answer: 'yes' as const, details: '' }]),
  );
  const met = exercises.filter(({ id }) => ids.includes(id));
  const findings = findingsOf(answers, [...met, lyingDownAndGettingUp], interview);
  const kept = findings.map(({ rule, exercises: of }) => [
    rule.id,
    settlementSchema.parse({
      exercises: of,
      answered: 'yes',
      ...(rule.measure === 'change'
        ? { isArranged: true }
        : { clearedBy: 'Dr. Lee', clearedOn: '2026-11-20' }),
    }),
  ]);
  const program = {
    ...{ format: 'stillcount-program/1', title: 'Mornings' },
    exercises: met.map(({ id, sidedness }) => ({
      exercise: id,
      ...(sidedness === 'one-side' ? { side: 'both' } : {}),
    })),
  };
  const settlements = withRules(Object.fromEntries(kept), findings, '2026-11-26');
  const content = { format: 'stillcount-prescription/1', settlements, program };
  return readPrescription(JSON.parse(JSON.stringify(content)), 'a test', catalogues);
}

/** What stands on the pages, in the order in which it is drawn. */
function setText(pages: readonly Page[]): string {
  const lines = pages.flatMap(({ drawn }) =>
    drawn.flatMap((each) =>
      each.kind === 'line' ? [each.line.pieces.map(({ text }) => text).join('')] : [],
    ),
  );
  return oneLine(lines.join(' '));
}

const briefOf = ({ instruct, brief = instruct }: WarningSign) =>
  brief.replaceAll('{{emergencyNumber}}', '144');

/** Everything that must never be missing from a handout, whatever its size. */
function safetyTexts(prescription: ReadPrescription, isLargePrint: boolean): string[] {
  const ids = [
    lyingDownAndGettingUp.id,
    ...prescription.program.exercises.map(({ exercise }) => exercise.id),
  ];
  const lines = ids.flatMap((id) => listSettledLines(prescription, id));
  return [
    ...['144', '01 234 567', 'Stop if pain gets worse and stays worse', 'dizzy'],
    'Tall mornings, as of November 26, 2026',
    ...offeredSigns(warningSigns).map((sign) =>
      isLargePrint ? `${sign.words} ${sign.instruct}` : `${sign.words}. ${briefOf(sign)}`,
    ),
    ...lines.flatMap(({ precaution, text, cleared }) => [
      precaution,
      ...(text === null ? [] : [text]),
      ...(cleared === null ? [] : [`Cleared by ${cleared.by} on ${cleared.on}`]),
    ]),
    ...prescription.program.exercises.flatMap(({ exercise, note }) => [
      exercise.name,
      ...(isLargePrint ? [...exercise.how, ...exercise.avoid] : (exercise.handout ?? [])),
      ...(note === null ? [] : [note]),
    ]),
  ].map(oneLine);
}

describe('the dose of a movement', () => {
  it('never asks to lift or lower what turns, slides or opens', () => {
    // The head stays down in a head turn: a printed "lift" would ask for what the exercise avoids.
    for (const isLargePrint of [false, true]) {
      const text = plainText(paperFor(prescriptionWith(['head-turns'], []), { isLargePrint }).blocks);
      expect(text).toMatch(isLargePrint ? /to move\. .*to return\./ : /Move \d, .*return \d/);
      expect(text).not.toMatch(/\bLift (for )?\d|\b[Ll]ower (for )?\d/);
    }
  });
});

describe('the ways down and up', () => {
  it('have a sentence for each of their pictures', () => {
    const { figures, ways } = drawHandout(texts, prescriptionWith(['head-press'], []).program);
    expect(ways.map(({ drawing, steps }) => [drawing, steps.length])).toEqual(
      ways.map(({ drawing }) => [drawing, figures.get(drawing)?.length]),
    );
    expect(ways).toHaveLength(2);
  });
});

describe('the pages of a handout', () => {
  const choices = fc.record({
    ids: fc.subarray(
      onBack.map(({ id }) => id),
      { minLength: 1, maxLength: 14 },
    ),
    precautionIds: fc.subarray(
      interview.precautions.map(({ id }) => id),
      { maxLength: 6 },
    ),
    pageSize: fc.constantFrom('a4' as const, 'letter' as const),
    isLargePrint: fc.boolean(),
    ticksEachDay: fc.constantFrom(0, 1, 2),
    hasAccess: fc.boolean(),
  });

  it('lose no warning sign, precaution, number or sentence, and print nothing outside', () => {
    fc.assert(
      fc.property(choices, ({ ids, precautionIds, hasAccess, ...more }) => {
        const prescription = prescriptionWith(ids, precautionIds);
        const paper = paperFor(prescription, { ...more, access: hasAccess ? access : null });
        const pages = layOut(paper, letters);
        const text = setText(pages);
        for (const each of safetyTexts(prescription, more.isLargePrint)) expect(text).toContain(each);
        const [width, height] = pageSizes[more.pageSize];
        const margin = paper.marginPoints ?? 54;
        for (const each of pages.flatMap(({ drawn }) => drawn)) {
          const place = `${each.kind} at ${each.x}`;
          expect(each.x, place).toBeGreaterThanOrEqual(margin - 0.01);
          expect(each.x + widthOf(each), place).toBeLessThanOrEqual(width - margin + 0.01);
          expect(bottomOf(each), place).toBeLessThanOrEqual(height - margin);
        }
      }),
      { numRuns: 12 },
    );
  });

  function widthOf(each: Page['drawn'][number]): number {
    // A line ends with the space after its last word.
    if (each.kind === 'line') return each.line.width - 0.35 * each.size;
    if (each.kind === 'figure') return each.frame.width * each.scale;
    return each.kind === 'rule' ? each.width : each.side;
  }

  function bottomOf(each: Page['drawn'][number]): number {
    if (each.kind === 'line') return each.baseline;
    if (each.kind === 'figure') return each.y + each.frame.height * each.scale;
    return each.kind === 'rule' ? each.y : each.y + each.side;
  }

  it.each(['a4', 'letter'] as const)(
    'are two on %s with up to eight exercises, three with more',
    (pageSize) => {
      for (const count of [1, 4, 5, 8]) {
        const pages = layOut(paperFor(prescriptionOf(count), { pageSize }), letters);
        expect(pages.length, `${count} exercises`).toBe(2);
      }
      for (const count of [9, 14])
        expect(layOut(paperFor(prescriptionOf(count), { pageSize }), letters).length, `${count}`).toBe(3);
    },
  );

  it.each(['first', 'breathing-and-relaxation', 'progressed', 'after-joint-replacement'])(
    'of the starter %s are two, or three with more than eight exercises',
    async (name) => {
      const program = await starter(name);
      const prescription = { ...prescriptionOf(1), program };
      for (const pageSize of ['a4', 'letter'] as const) {
        const pages = layOut(paperFor(prescription, { pageSize }), letters);
        expect(pages.length, pageSize).toBe(program.exercises.length > 8 ? 3 : 2);
      }
    },
  );

  it('are one more with boxes to tick, one for each session of four weeks', () => {
    const plain = layOut(paperFor(prescriptionOf(4)), letters);
    for (const ticksEachDay of [1, 2]) {
      const pages = layOut(paperFor(prescriptionOf(4), { ticksEachDay }), letters);
      expect(pages.length).toBe(plain.length + 1);
      const boxes = pages.at(-1)?.drawn.filter(({ kind }) => kind === 'box') ?? [];
      expect(boxes).toHaveLength(4 * 7 * ticksEachDay);
    }
  });

  it('have letters of 12 points or more, of 16 in large print', () => {
    for (const [isLargePrint, least] of [
      [false, 12],
      [true, 16],
    ] as const) {
      const pages = layOut(paperFor(prescriptionOf(8), { isLargePrint }), letters);
      const sizes = pages.flatMap(({ drawn }) =>
        drawn.flatMap((each) => (each.kind === 'line' ? [each.size] : [])),
      );
      expect(Math.min(...sizes)).toBeGreaterThanOrEqual(least);
    }
  });

  it('draw a side view of the body five centimeters long where a program has room', () => {
    const pages = layOut(paperFor(prescriptionOf(4)), letters);
    const scales = pages[0]?.drawn.flatMap((each) => (each.kind === 'figure' ? [each.scale] : [])) ?? [];
    // A side view is 224 cm of the body long.
    for (const scale of scales) expect((scale * 224 * 2.54) / 72).toBeGreaterThanOrEqual(5);
  });
});

async function starter(name: string) {
  const text = await readFile(`audio-templates/en/programs/${name}.yaml`, 'utf8');
  return readPrescription({ format: 'stillcount-prescription/1', program: parse(text) }, name, catalogues)
    .program;
}

describe('what a handout says of each exercise', () => {
  it('is two sentences of its own for every exercise that comes with the program', () => {
    for (const { id, handout: two } of exercises) expect(two, id).toHaveLength(2);
  });

  it('leaves out no harm that is to be avoided: each word that matters comes back', () => {
    // Holding the breath is said for all exercises above them.
    const matters = [
      'arch',
      'shrug',
      'twist',
      'dizzy',
      'numb',
      'tingl',
      'edge',
      'alone',
      'hard',
      'bounc',
      'jerk',
    ];
    const saidOtherwise = new Map([
      // Its toes point up, and so not away.
      ['growing-long', ['hard']],
      ['huff-and-cough', ['hard']],
      // Of a roll: no edge of it under the heel, a soft one, and someone who places it.
      ['heel-prop', ['edge']],
      ['upper-back-roll', ['twist', 'hard']],
    ]);
    const missing: string[] = [];
    for (const { id, avoid, handout: two } of exercises) {
      const [warned, said] = [avoid, two ?? []].map((each) => each.join(' ').toLowerCase());
      for (const word of matters.filter((each) => !saidOtherwise.get(id)?.includes(each)))
        if (warned?.includes(word))
          missing.push(...(said?.includes(word) === true ? [] : [`${id}: ${word}`]));
    }
    expect(missing).toEqual([]);
  });

  it('is all that is to be avoided where nobody has written two sentences, and every word without a picture', () => {
    const prescription = prescriptionOf(1);
    const exercise = prescription.program.exercises[0]?.exercise;
    if (exercise?.figure === undefined || exercise.handout === undefined) throw new Error('it has both');
    const { figure, handout: two, how, avoid } = exercise;
    const printed = () => oneLine(plainText(paperFor(prescription).blocks));
    try {
      delete exercise.handout;
      for (const each of [how.at(how.length > 2 ? -2 : 0) ?? '', ...avoid])
        expect(printed()).toContain(oneLine(each));
      expect(printed()).not.toContain('There is no picture');
      delete exercise.figure;
      for (const each of [...how, ...avoid]) expect(printed()).toContain(oneLine(each));
      expect(printed()).toContain('There is no picture of this exercise.');
    } finally {
      [exercise.figure, exercise.handout] = [figure, two];
    }
  });

  it('reads at grade six or below, program by program and exercise by exercise', async () => {
    expect(
      ['press', 'table', 'lower', 'presses', 'moved', 'needed', 'breathe', 'shoulder'].map(syllablesOf),
    ).toEqual([1, 2, 2, 2, 1, 2, 1, 2]);
    for (const name of ['first', 'progressed', 'after-joint-replacement', 'breathing-and-relaxation']) {
      const prescription = { ...prescriptionOf(1), program: await starter(name) };
      const lines = plainText(paperFor(prescription, { ticksEachDay: 1 }).blocks).split('\n');
      expect(gradeOf(lines.flatMap(sentencesOf)), name).toBeLessThanOrEqual(6);
    }
    expect(
      gradeOf(exercises.flatMap(({ handout: two = [] as string[] }) => [...two].flatMap(sentencesOf))),
    ).toBeLessThanOrEqual(6);
  });
});

/** What stands for each figure, in the objects of the structure, which are not compressed (ISO 32000-1, 14.9.3). */
function alternativesIn(pdf: Uint8Array): string[] {
  const written = Buffer.from(pdf).toString('latin1');
  return [...written.matchAll(/\/Alt \(((?:[^()\\]|\\.)*)\)/gs)].map(([, text = '']) =>
    text.replaceAll(/\\(.)/gs, '$1'),
  );
}

describe.skipIf(!hasPoppler)('the pages of a handout, read by Poppler', () => {
  it('are two, with every figure told in words in the structure of the document', async () => {
    const prescription = prescriptionWith(
      [
        'head-press',
        'upper-arm-press',
        'arm-reach',
        'bridge',
        'heel-slide',
        'knee-squeeze',
        'ankle-pumps',
        'thigh-press',
      ],
      [],
    );
    for (const pageSize of ['a4', 'letter'] as const) {
      const pdf = await makePdf(paperFor(prescription, { pageSize }), letters);
      expect(infoOf(pdf).get('Pages')).toBe('2');
      const structure = structureOf(pdf).map((line) => line.trim());
      const poses = prescription.program.exercises.flatMap(
        (each) => prescribedFigure(each, prescription.program.catalogue.figureWords)?.poses ?? [],
      );
      // With the square code and three pictures of the way down and four of the way up.
      expect(structure.filter((tag) => tag === 'Figure')).toHaveLength(poses.length + 1 + 3 + 4);
      for (const { text } of poses) expect(alternativesIn(pdf)).toContain(text);
      const text = textOf(pdf);
      for (const each of safetyTexts(prescription, false)) expect(text).toContain(each);
      for (const page of [1, 2]) {
        const { width, height, grey } = pictureOf(pdf, page);
        const edge = Math.floor((marginOf / 72) * 50);
        const isInk = (index: number) => (grey[index] ?? 255) < 128;
        const outside = Array.from({ length: width * height }, (_, index) => index).filter((index) => {
          const [x, y] = [index % width, Math.floor(index / width)];
          return isInk(index) && (x < edge || x >= width - edge || y < edge || y >= height - edge);
        });
        expect(outside, `page ${page} keeps its margins`).toHaveLength(0);
      }
    }
  });

  it('are drawn for the side that works: the left one is the right one in a mirror', async () => {
    const drawn = async (side: 'left' | 'right') => {
      const program = {
        ...{ format: 'stillcount-program/1', title: 'Mornings' },
        exercises: [{ exercise: 'heel-slide', side }],
      };
      const read = readPrescription({ format: 'stillcount-prescription/1', program }, 'a test', catalogues);
      return alternativesIn(await makePdf(paperFor(read), letters)).join(' ');
    };
    expect(await drawn('right')).toContain('The right foot moves');
    expect(await drawn('left')).toContain('The left foot moves');
  });

  it('keep a name from the right, and its digits, beside the figures', async () => {
    const pdf = await makePdf(paperFor(prescriptionOf(2), { personName: 'محمد علي' }), letters);
    expect(textOf(pdf)).toContain('محمد علي');
    expect(infoOf(pdf).get('Pages')).toBe('2');
  });
});
