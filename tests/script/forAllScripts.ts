import fc from 'fast-check';
import { expect } from 'vitest';
import { stringify } from 'yaml';
import type { Catalogue } from '../../src/catalogue/catalogue.js';
import type { TimingShape } from '../../src/catalogue/schema.js';
import { StillcountError } from '../../src/errors/stillcountError.js';
import type { PrescribedProgram } from '../../src/program/prescribed.js';
import { readProgram } from '../../src/program/readProgram.js';
import { buildScript } from '../../src/script/buildScript.js';
import type { ClipMeasure } from '../../src/script/measure.js';
import type { TimedScript } from '../../src/script/timedScript.js';
import { clipOf, programs, voiceOf } from './arbitraries.js';

export type Case = {
  program: PrescribedProgram;
  script: TimedScript;
  /** How the voice said a wording of the script; absent where a test makes a script itself. */
  clip?: (text: string) => ClipMeasure;
};

export type Choice = {
  runs?: number;
  /** Where an invariant speaks of some timing shapes alone, only those are generated. */
  only?: readonly TimingShape[];
  perWordMs?: { min: number; max: number };
};

/** A program whose words have no room gives the reason instead. */
type Built = Case | StillcountError;
type Cases = { seed: number; built: readonly Built[] };

/** What was built before: a dozen invariants are held against the same programs, and none of them changes one. */
const kept = new WeakMap<Catalogue, Map<string, Promise<Cases>>>();

/** Builds many scripts and hands each to the check; programs whose words have no room must say so clearly. */
export async function forAllScripts(
  catalogue: Catalogue,
  check: (built: Case) => void | Promise<void>,
  { runs = 60, only, perWordMs = { min: 180, max: 420 } }: Choice = {},
): Promise<void> {
  const catalogues = new Map([[catalogue.language, catalogue]]);
  const arbitrary = fc.tuple(programs(catalogue, only), fc.nat());
  const build = async (raw: object, voiceSeed: number): Promise<Built> => {
    const program = readProgram(stringify(raw), 'generated.yaml', catalogues);
    try {
      const script = await buildScript(program, voiceOf(voiceSeed, perWordMs));
      return { program, script, clip: (text) => clipOf(text, voiceSeed, perWordMs) };
    } catch (error) {
      if (error instanceof StillcountError) return error;
      throw error;
    }
  };
  const buildAll = async (): Promise<Cases> => {
    const seed = Date.now() % 2 ** 31;
    const built: Built[] = [];
    for (const [raw, voiceSeed] of fc.sample(arbitrary, { numRuns: runs, seed }))
      built.push(await build(raw, voiceSeed));
    return { seed, built };
  };
  const ofCatalogue = kept.get(catalogue) ?? new Map<string, Promise<Cases>>();
  kept.set(catalogue, ofCatalogue);
  const key = JSON.stringify([runs, only, perWordMs]);
  const cases = ofCatalogue.get(key) ?? buildAll();
  ofCatalogue.set(key, cases);

  let accepted = 0;
  let refused = 0;
  const hold = async (one: Built) => {
    try {
      if (one instanceof StillcountError) throw one;
      accepted++;
      await check(one);
    } catch (error) {
      if (!(error instanceof StillcountError)) throw error;
      expect(error.problems[0]).toMatchObject({ file: 'generated.yaml', path: expect.any(String) });
      refused++;
    }
  };
  const { seed, built } = await cases;
  try {
    for (const one of built) await hold(one);
  } catch (error) {
    // The same programs once more, and from the one that failed to the smallest that does.
    const property = fc.asyncProperty(arbitrary, async ([raw, voiceSeed]) =>
      hold(await build(raw, voiceSeed)),
    );
    await fc.assert(property, { numRuns: runs, seed });
    throw error;
  }
  // Otherwise the property would have been checked on nothing.
  expect(accepted).toBeGreaterThan(refused);
}
