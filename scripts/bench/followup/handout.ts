import { performance } from 'node:perf_hooks';
import qrcode from 'qrcode';
import { handout } from '../../../src/documents/handout.js';
import { paperOf } from '../../../src/documents/paperOf.js';
import { makePdf } from '../../../src/documents/pdf/makePdf.js';
import { readPrescription } from '../../../src/prescription/content.js';
import { timetableInWords } from '../../../src/schedule/inWords.js';
import { readCatalogues } from '../../../src/session/readCatalogues.js';
import { readWarningSigns } from '../../../src/session/readClinicWords.js';
import { readFonts } from '../../../src/session/readFonts.js';
import { readPapers } from '../../../src/session/readPapers.js';
import { openWords } from '../../../src/text/words.js';
import { type Row, within } from './row.js';

const mostMs = 500;
const mostFirstMs = 1_000;

/**
 * Measures handouts as PDF: the first one in a process, which opens the fonts; later ones with six and with fourteen
 * exercises; and the first with a name in Chinese, whose characters need the largest font.
 */
export async function handoutRows(): Promise<Row[]> {
  const catalogues = await readCatalogues('audio-templates');
  const texts = await readPapers('audio-templates');
  const warningSigns = await readWarningSigns('audio-templates');
  const words = await openWords();
  const { modules } = qrcode.create('https://clinic.example.org/l/secret/', { errorCorrectionLevel: 'M' });
  const all = [...(catalogues.get('en')?.exercises.values() ?? [])].filter(
    ({ path }) => path.from.position === 'supine' && path.to === undefined,
  );
  const letters = await readFonts();

  async function measured(count: number, personName: string): Promise<number> {
    const exercises = all
      .slice(0, count)
      .map(({ id, sidedness }) => ({ exercise: id, ...(sidedness === 'one-side' ? { side: 'both' } : {}) }));
    const program = { format: 'stillcount-program/1', title: 'Mornings', exercises };
    const content = { format: 'stillcount-prescription/1', program };
    const prescription = readPrescription(content, 'the bench', catalogues);
    const startedAtMs = performance.now();
    const paper = handout(texts, {
      clinic: { name: 'Quillmere', phone: '01 234 567', emergencyNumber: '144', zone: 'Europe/Vienna' },
      ...{ personName, programTitle: 'Mornings', prescription, warningSigns, pageSize: null },
      ...{ isLargePrint: false, ticksEachDay: 0 },
      ...{ signedAtMs: 0, madeAtMs: 0, timetable: timetableInWords(prescription, words.schedule) },
      access: {
        square: { size: modules.size, isDark: (row, column) => modules.get(row, column) === 1 },
        ...{
          code: 'K7M4P 2XRTQ',
          typedAt: 'https://clinic.example.org/l',
          until: 'May 25, 2027',
          hasPin: false,
        },
      },
    });
    await makePdf(paper, letters);
    return performance.now() - startedAtMs;
  }

  async function makeReady(name: string): Promise<void> {
    const paper = { title: name, blocks: [{ kind: 'title', text: name } as const], pageSize: 'a4' } as const;
    await makePdf(paperOf(texts, { ...paper, letterPoints: 12, madeAtMs: 0 }), letters);
  }

  async function median(count: number, personName: string): Promise<number> {
    const times: number[] = [];
    for (let run = 0; run < 5; run += 1) times.push(await measured(count, personName));
    return times.sort((a, b) => a - b)[2] ?? Number.NaN;
  }

  const first = await measured(6, 'Rosa Lind');
  const six = await median(6, 'Rosa Lind');
  const fourteen = await median(14, 'Rosa Lind');
  // The page that links to it does the same.
  await makeReady('王小明');
  const chinese = await measured(6, '王小明');
  return [
    within(
      'the first handout of a process, which a page that leads to it makes ready',
      first,
      mostFirstMs,
      'ms',
    ),
    within('handout of 6 exercises, median of 5', six, mostMs, 'ms'),
    within('handout of 14 exercises, median of 5', fourteen, mostMs, 'ms'),
    within('the first handout for a name in Chinese, made ready likewise', chinese, mostMs, 'ms'),
  ];
}
