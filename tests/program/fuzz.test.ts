import { readdir, readFile } from 'node:fs/promises';
import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { parse, stringify } from 'yaml';
import type { Catalogue } from '../../src/catalogue/catalogue.js';
import { StillcountError } from '../../src/errors/stillcountError.js';
import type { PrescribedProgram } from '../../src/program/prescribed.js';
import { readProgram } from '../../src/program/readProgram.js';
import { buildScript } from '../../src/script/buildScript.js';
import { dosesHeard } from '../../src/script/doseHeard.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { isWhole } from '../long.js';
import { voiceOf } from '../script/arbitraries.js';
import { expectedWork } from '../script/expected.js';

/**
 * Hundreds of damaged programs, thousands in the whole check: whatever is written, the answer is a script with exactly the
 * dose that the file states, or one clear message about the file. Never another error, never a wrong dose.
 */

/** Of each kind. */
const numRuns = isWhole('programs') ? 2_000 : 600;

let catalogues: ReadonlyMap<string, Catalogue>;
let starters: string[];

beforeAll(async () => {
  catalogues = await readCatalogues('audio-templates');
  const folder = 'audio-templates/en/programs';
  const names = await readdir(folder);
  starters = await Promise.all(names.map((name) => readFile(`${folder}/${name}`, 'utf8')));
});

/** What happened: the program as accepted, or null after a clear refusal. */
function readOrRefuse(text: string): PrescribedProgram | null {
  try {
    return readProgram(text, 'damaged.yaml', catalogues);
  } catch (error) {
    if (!(error instanceof StillcountError)) throw error;
    expect(error.kind).toBe('input');
    for (const problem of error.problems) {
      expect(problem.file).toBe('damaged.yaml');
      expect(problem.message.length).toBeGreaterThan(5);
    }
    expect(error.message).not.toContain('    at ');
    return null;
  }
}

async function checkDose(text: string, voiceSeed: number): Promise<boolean> {
  const program = readOrRefuse(text);
  if (program === null) return false;
  try {
    const script = await buildScript(
      { ...program, timeBudgetMinutes: undefined },
      voiceOf(voiceSeed, { min: 150, max: 380 }),
    );
    const heard = dosesHeard(script).map(({ work }) =>
      work.map(({ set, rep, side, startMs, endMs }) => ({ set, rep, side, lengthMs: endMs - startMs })),
    );
    expect(heard).toEqual(program.exercises.map((prescribed) => expectedWork(prescribed, program)));
    return true;
  } catch (error) {
    if (!(error instanceof StillcountError)) throw error;
    expect(error.problems[0]).toMatchObject({ file: 'damaged.yaml', path: expect.any(String) });
    return false;
  }
}

describe('damaged programs', () => {
  it('with characters changed, doubled or lost never give a wrong dose', async () => {
    const damage = fc.array(
      fc.record({
        at: fc.double({ min: 0, max: 1, noNaN: true }),
        remove: fc.integer({ min: 0, max: 6 }),
        insert: fc.oneof(
          fc.constantFrom(
            '',
            '\t',
            '"',
            '{',
            '}',
            '- ',
            ': ',
            '\n',
            '&a',
            '*a',
            '!!x',
            '0',
            '9',
            '-',
            '.5',
            'e9',
            '{{#',
          ),
          fc.string({ unit: 'binary', maxLength: 4 }),
        ),
      }),
      { minLength: 1, maxLength: 2 },
    );
    let accepted = 0;
    let refused = 0;
    await fc.assert(
      fc.asyncProperty(fc.nat(), damage, fc.nat(), async (starter, edits, voiceSeed) => {
        let text = starters[starter % starters.length] ?? '';
        for (const { at, remove, insert } of edits) {
          const from = Math.floor(at * text.length);
          text = text.slice(0, from) + insert + text.slice(from + remove);
        }
        if (await checkDose(text, voiceSeed)) accepted++;
        else refused++;
      }),
      { numRuns },
    );
    // Both answers must really have been tried. Of 2000 about 52 are accepted (four runs:
    // 48 to 54); a chance of fewer than 20, or of none in 600, is less than one in a million.
    expect(accepted).toBeGreaterThan(isWhole('programs') ? 20 : 0);
    expect(refused).toBeGreaterThan(200);
  });

  it('with values swapped for others never give a wrong dose', async () => {
    const values = fc.oneof(
      fc.constantFrom(null, true, '', 'left', 'both', [], {}, 'head-press', '{{name}}', '__proto__'),
      fc.integer({ min: -5, max: 40 }),
      fc.constantFrom(0, -0, 1e9, 10_000, 0.5, Number.NaN, Number.POSITIVE_INFINITY),
      fc.string({ maxLength: 12 }),
    );
    let accepted = 0;
    await fc.assert(
      fc.asyncProperty(fc.nat(), fc.nat(), values, fc.nat(), async (starter, place, value, voiceSeed) => {
        const program: unknown = parse(starters[starter % starters.length] ?? '');
        const places = leaves(program);
        const target = places[place % places.length];
        if (target === undefined) return;
        target.holder[target.key] = value;
        if (await checkDose(stringify(program), voiceSeed)) accepted++;
      }),
      { numRuns },
    );
    expect(accepted).toBeGreaterThan(numRuns / 40);
  });
});

type Place = { holder: Record<string, unknown>; key: string };

/** Every value in a nested structure, as a place that can be written to. */
function leaves(value: unknown): Place[] {
  if (typeof value !== 'object' || value === null) return [];
  const holder = value as Record<string, unknown>;
  return Object.keys(holder).flatMap((key) => [{ holder, key }, ...leaves(holder[key])]);
}
