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

/** Builds many scripts and hands each to the check; programs whose words have no room must say so clearly. */
export async function forAllScripts(
  catalogue: Catalogue,
  check: (built: Case) => void | Promise<void>,
  { runs = 60, only, perWordMs = { min: 180, max: 420 } }: Choice = {},
): Promise<void> {
  const catalogues = new Map([[catalogue.language, catalogue]]);
  let built = 0;
  let refused = 0;
  await fc.assert(
    fc.asyncProperty(programs(catalogue, only), fc.nat(), async (raw, voiceSeed) => {
      const program = readProgram(stringify(raw), 'generated.yaml', catalogues);
      try {
        const script = await buildScript(program, voiceOf(voiceSeed, perWordMs));
        built++;
        await check({ program, script, clip: (text) => clipOf(text, voiceSeed, perWordMs) });
      } catch (error) {
        if (!(error instanceof StillcountError)) throw error;
        expect(error.problems[0]).toMatchObject({ file: 'generated.yaml', path: expect.any(String) });
        refused++;
      }
    }),
    { numRuns: runs },
  );
  // Otherwise the property would have been checked on nothing.
  expect(built).toBeGreaterThan(refused);
}
