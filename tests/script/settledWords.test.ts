import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { lyingDownAndGettingUpId } from '../../src/catalogue/adaptation.js';
import type { Catalogue } from '../../src/catalogue/catalogue.js';
import { adaptProgram } from '../../src/program/adapt.js';
import { effectsOf } from '../../src/program/adaptationEffects.js';
import type { AppliedAdaptation, PrescribedProgram } from '../../src/program/prescribed.js';
import { readProgram } from '../../src/program/readProgram.js';
import type { Interview } from '../../src/screening/interview.js';
import { buildScript } from '../../src/script/buildScript.js';
import type { TimedScript } from '../../src/script/timedScript.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { readInterview } from '../../src/session/readClinicWords.js';
import { voiceOf } from './arbitraries.js';

/**
 * What was settled about precautions, when several settle at once. At most two sentences before one exercise are our
 * choice, no published source; that none of them is lost is the project's own requirement.
 */

let catalogues: ReadonlyMap<string, Catalogue>;
let interview: Interview;
const voice = voiceOf(3, { min: 150, max: 200 });

beforeAll(async () => {
  catalogues = await readCatalogues('audio-templates');
  interview = await readInterview('audio-templates', catalogues);
});

const ids = ['into-bed', 'head-press', 'knee-to-chest', 'upper-arm-press', 'arm-reach', 'out-of-bed'];

function program(): PrescribedProgram {
  const list = ids.map((exercise) => `{ exercise: ${exercise} }`).join(', ');
  const text = `format: stillcount-program/1\ntitle: Test\nsession: { number: 9, seed: 1 }\nexercises: [${list}]\n`;
  return readProgram(text, 'test.yaml', catalogues);
}

/** Every rule that speaks, with what it meets. */
function speaking(): AppliedAdaptation[] {
  return interview.precautions.flatMap(({ name, rules }) =>
    rules.flatMap((rule): AppliedAdaptation[] => {
      const { id: ruleId, adapt: adaptation, measure } = rule;
      if (adaptation?.say === undefined || measure === 'leave-out') return [];
      const meets = [...(catalogues.get('en')?.exercises.values() ?? [])].filter(
        ({ id, loadTags }) => rule.exercises.includes(id) || loadTags.some((tag) => rule.loads.includes(tag)),
      );
      const onTheWay = rule.loads.includes('position-change') ? [lyingDownAndGettingUpId] : [];
      return [
        {
          ...{ ruleId, precaution: name, measure, adaptation },
          exercises: [...meets.map(({ id }) => id), ...onTheWay],
        },
      ];
    }),
  );
}

const sentenceOf = ({ adaptation: { say } }: AppliedAdaptation) => say?.short ?? say?.full ?? '';

/** The sentences about precautions that are heard in one chapter, in order. */
function heardIn({ cues }: TimedScript, chapter: number, sentences: ReadonlySet<string>): string[] {
  return cues.flatMap(({ chapter: own, text }) =>
    own === chapter && sentences.has(text ?? '') ? [text ?? ''] : [],
  );
}

describe('several settled precautions', () => {
  it('speak at most two sentences before one exercise, and every sentence somewhere', async () => {
    let full = 0;
    await fc.assert(
      fc.asyncProperty(fc.subarray(speaking(), { minLength: 1 }), async (applied) => {
        const adapted = adaptProgram(program(), applied);
        const script = await buildScript(adapted, voice);
        const met = applied.filter(({ exercises }) =>
          exercises.some((id) => ids.includes(id) || id === lyingDownAndGettingUpId),
        );
        const sentences = new Set(met.map(sentenceOf));
        const heard = script.chapters.map((_, chapter) => heardIn(script, chapter, sentences));
        for (const before of heard.slice(1)) expect(before.length).toBeLessThanOrEqual(2);
        expect(new Set(heard.flat())).toEqual(sentences);
        adapted.exercises.forEach((prescribed, index) => {
          const own = new Set(prescribed.adaptations.map(sentenceOf));
          expect(heard[index + 1]).toHaveLength(Math.min(2, own.size));
          const said = effectsOf(prescribed).filter(({ isSaidBefore }) => isSaidBefore);
          expect(new Set(said.map((effect) => effect.said))).toEqual(new Set(heard[index + 1]));
          const notes = script.adjustments.filter(
            ({ kind, exercise }) => kind === 'precautions-elsewhere' && exercise === prescribed.exercise.id,
          );
          expect(notes, 'a clinician is told what is not said there').toHaveLength(own.size > 2 ? 1 : 0);
          if (own.size <= 2) return;
          full++;
          for (const sentence of own) {
            if (heard[index + 1]?.includes(sentence)) continue;
            expect(notes[0]?.text).toContain(sentence);
          }
        });
      }),
      { numRuns: 40 },
    );
    expect(full).toBeGreaterThan(20);
  });

  it('say a limit first, then a sign to stop for, then the manner', async () => {
    const adapted = adaptProgram(program(), speaking());
    const script = await buildScript(adapted, voice);
    const kinds = new Map(speaking().map((each) => [sentenceOf(each), each.adaptation.sayAs]));
    const order = ['limit', 'stop', 'manner'];
    adapted.exercises.forEach((prescribed, index) => {
      const said = heardIn(script, index + 1, new Set(kinds.keys())).map((text) =>
        order.indexOf(kinds.get(text) ?? ''),
      );
      expect(said).toEqual([...said].sort((a, b) => a - b));
      const best = prescribed.adaptations.map(({ adaptation }) => order.indexOf(adaptation.sayAs));
      if (best.length > 0) expect(said[0]).toBe(Math.min(...best));
    });
    // A new hip and an arm that must not push come before what holds only if a sign shows.
    const wayOut = heardIn(script, adapted.exercises.length, new Set(kinds.keys()));
    expect(wayOut).toEqual([
      'Do not push with the arm on the side of your device.',
      'Do not bend your hip past the limit you were given.',
    ]);
  });

  it('each have a kind that their words show', () => {
    const rules = speaking();
    expect(rules.length).toBeGreaterThanOrEqual(20);
    for (const { ruleId, adaptation } of rules) {
      const isSign = /\bIf\b/.test(adaptation.say?.full ?? '');
      expect(adaptation.sayAs === 'stop', ruleId).toBe(isSign);
    }
  });
});
