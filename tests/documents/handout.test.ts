import qrcode from 'qrcode';
import { describe, expect, it } from 'vitest';
import { type Handout, handout } from '../../src/documents/handout.js';
import { pageSizeIn } from '../../src/documents/paperOf.js';
import { makePdf } from '../../src/documents/pdf/makePdf.js';
import { offeredSigns } from '../../src/followup/warningSigns.js';
import { timetableInWords } from '../../src/schedule/inWords.js';
import { letters, prescriptionOf, texts, warningSigns, words } from './papers.js';
import {
  fontsOf,
  hasPoppler,
  infoOf,
  pictureOf,
  structureOf,
  textOf,
  whyNoPoppler,
  wordsIn,
} from './poppler.js';

it('has an outside reader of PDF on a machine that decides', (context) => {
  if (!hasPoppler && process.env.CI === undefined) context.skip(whyNoPoppler);
  expect(hasPoppler, whyNoPoppler).toBe(true);
});

const { modules } = qrcode.create('https://clinic.example.org/l/secret/', { errorCorrectionLevel: 'M' });
const access = {
  square: { size: modules.size, isDark: (row: number, column: number) => modules.get(row, column) === 1 },
  ...{ code: 'K7M4P 2XRTQ', typedAt: 'https://clinic.example.org/l', until: 'May 25, 2027', hasPin: true },
};

function about(count: number, more: Partial<Handout> = {}): Handout {
  const prescription = prescriptionOf(count);
  return {
    clinic: { name: 'Quillmere', phone: '01 234 567', emergencyNumber: '144', zone: 'Europe/Vienna' },
    personName: 'Rosa Lind',
    programTitle: 'Tall mornings',
    prescription,
    signedAtMs: Date.UTC(2026, 10, 26),
    timetable: timetableInWords(prescription, words.schedule),
    warningSigns,
    access: null,
    ...{ pageSize: null, isLargePrint: false, ticksEachDay: 0 },
    madeAtMs: Date.UTC(2026, 10, 26, 9),
    ...more,
  };
}
const printed = (count: number, more: Partial<Handout> = {}) =>
  makePdf(handout(texts, about(count, more)), letters);

describe.skipIf(!hasPoppler)('the handout, read by Poppler', () => {
  it('says all of the program, whom to call, and when to stop', async () => {
    const text = textOf(await printed(3, { access, isLargePrint: true }));
    expect(text).toContain('Rosa Lind');
    expect(text).toContain('Call Quillmere: 01 234 567. In an emergency, call 144.');
    expect(text).toContain('K7M4P 2XRTQ');
    expect(text).toContain('It works until May 25, 2027.');
    for (const { exercise } of prescriptionOf(3).program.exercises) {
      const said = [exercise.name, exercise.purpose, ...exercise.how, ...exercise.avoid];
      for (const each of said) expect(text).toContain(each.replaceAll(/\s+/g, ' '));
      for (const each of exercise.cautions) expect(text).not.toContain(each.replaceAll(/\s+/g, ' '));
    }
    for (const { words, instruct } of offeredSigns(warningSigns))
      expect(text).toContain(`${words} ${instruct}`);
    expect(text, 'none that nobody is asked about').not.toContain('ending my life');
    expect(text).toContain('Stop if pain gets worse and stays worse');
    expect(text, 'no template shows through').not.toMatch(/\{\{|undefined|\[object|null/);
  });

  it('says how to get to the page where it has no secrets', async () => {
    const text = textOf(await printed(1));
    expect(text).toContain('If you cannot find it, call us and ask for a new link.');
    expect(text).not.toContain('Point your phone');
  });

  it('has a structure to be read aloud by, headings in order, a figure with its words', async () => {
    const pdf = await printed(2, { access });
    const structure = structureOf(pdf);
    expect(structure[0]).toBe('Document');
    const headings = structure.map((line) => line.trim()).filter((tag) => /^H\d$/.test(tag));
    expect(headings).toEqual(['H1', 'H3', 'H3', 'H2', 'H2', 'H2', 'H2']);
    const poses = prescriptionOf(2).program.exercises.flatMap(({ exercise }) => exercise.figure?.poses ?? []);
    // With the square code and three pictures of the way down and four of the way up.
    const figures = structure.filter((line) => line.trim() === 'Figure');
    expect(figures).toHaveLength(poses.length + 1 + 3 + 4);
    const lists = structure.map((line) => line.trim());
    expect(lists.filter((tag) => tag === 'LI').length).toBe(lists.filter((tag) => tag === 'LBody').length);
    expect(Object.fromEntries(infoOf(pdf))).toMatchObject({
      Tagged: 'yes',
      Title: 'Exercises lying down, for Rosa Lind',
      'Page size': '595.28 x 841.89 pts (A4)',
    });
    expect(fontsOf(pdf).filter(({ isWhole }) => !isWhole)).toEqual([]);
  });

  it('numbers its pages, also under a name of two hundred letters, and prints nothing outside them', async () => {
    const personName = 'Maximiliana-Theodora von und zu Hohenwaldenberg-Schwarzenfels '.repeat(4).trim();
    const pdf = await printed(14, { personName });
    const pages = Number(infoOf(pdf).get('Pages'));
    const text = textOf(pdf);
    expect(text).toContain(personName);
    for (let page = 1; page <= pages; page += 1) expect(text).toContain(`Page ${page} of ${pages}.`);
    for (const page of [1, 2, pages]) {
      const { width, height, grey } = pictureOf(pdf, page);
      const edge = Math.round((36 / 72) * 50);
      const isInk = (index: number) => (grey[index] ?? 255) < 128;
      const ink = Array.from({ length: width * height }, (_, index) => index).filter(isInk);
      expect(ink.length, `page ${page} is not empty`).toBeGreaterThan(500);
      const outside = ink.filter((index) => {
        const [x, y] = [index % width, Math.floor(index / width)];
        return x < edge || x >= width - edge || y < edge || y >= height - edge;
      });
      expect(outside, `page ${page} keeps its margins`).toEqual([]);
    }
  });

  it('keeps names in any script readable and searchable, in fonts that are within the file', async () => {
    const names = [
      'محمد علي الحسن عائلته بغداد',
      'שלום כהן',
      'Νίκος Παπαδόπουλος',
      'Владимир Ильич',
      'क्षत्रिय शर्मा',
      '王小明',
      'Nguyễn Văn Trỗi',
      '김철수',
    ];
    const blocks = names.map((text) => ({ kind: 'paragraph' as const, text }));
    const pdf = await makePdf({ ...handout(texts, about(1)), blocks }, letters);
    const text = textOf(pdf);
    for (const name of names) expect(text).toContain(name);
    expect(text).not.toContain('Some characters could not be printed.');
    expect(fontsOf(pdf).filter(({ isWhole }) => !isWhole)).toEqual([]);
  });

  it('writes from right to left what is written so, and digits and Latin within it from the left', async () => {
    const blocks = [{ kind: 'paragraph' as const, text: 'שלום 1941 Anna' }];
    const placed = wordsIn(await makePdf({ ...handout(texts, about(1)), blocks }, letters));
    const leftOf = (word: string) => placed.find(({ text }) => text === word)?.left ?? Number.NaN;
    // Poppler names the letters of a word from left to right here, in whichever direction they are written.
    expect(leftOf([...'שלום'].reverse().join(''))).toBeGreaterThan(leftOf('1941'));
    expect(leftOf('1941')).toBeGreaterThan(leftOf('Anna'));
  });

  it('says so where no font has a sign, and never prints an empty box', async () => {
    const text = textOf(await printed(1, { personName: 'José \u{1F642} \uD800' }));
    expect(text).toContain('José [U+1F642] [U+D800]');
    expect(text).toContain('Some characters could not be printed.');
  });
});

describe('the handout', () => {
  it('is the same bytes for the same program at the same moment', async () => {
    const [one, other] = [await printed(2, { access }), await printed(2, { access })];
    expect(Buffer.compare(one, other)).toBe(0);
    const later = await printed(2, { access, madeAtMs: Date.UTC(2027, 0, 1) });
    expect(Buffer.compare(one, later)).not.toBe(0);
  });

  it('is in clear print, and in large print for who asks for it', () => {
    // Clear print: 12 points and more; large print: 16 and more (Royal National Institute of Blind People; from memory).
    expect(handout(texts, about(1)).letterPoints).toBeGreaterThanOrEqual(12);
    expect(handout(texts, about(1, { isLargePrint: true })).letterPoints).toBeGreaterThanOrEqual(16);
  });

  it('takes the paper of the clinic’s country', () => {
    // Unicode CLDR, supplemental data, paperSize: US-Letter in CA, CL, CO, MX, PH, US, VE and others; from memory.
    expect(
      ['America/New_York', 'America/Toronto', 'America/Mexico_City', 'Asia/Manila'].map(pageSizeIn),
    ).toEqual(Array(4).fill('letter'));
    expect(['Europe/Vienna', 'America/Sao_Paulo', 'Asia/Tokyo', 'UTC'].map(pageSizeIn)).toEqual(
      Array(4).fill('a4'),
    );
  });
});
