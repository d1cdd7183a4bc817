import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { lyingDownAndGettingUpId } from '../../src/catalogue/adaptation.js';
import { adaptProgram } from '../../src/program/adapt.js';
import type { AppliedAdaptation, PrescribedProgram } from '../../src/program/prescribed.js';
import { readProgram } from '../../src/program/readProgram.js';
import { makeSession } from '../../src/session/makeSession.js';
import { readInterview } from '../../src/session/readClinicWords.js';
import { readProgramFile } from '../../src/session/readProgramFile.js';
import { openWorkshop, type Workshop } from '../../src/session/workshop.js';
import { isWhole } from '../long.js';
import { spokenFolder } from '../session/spokenFolder.js';
import { listenTo } from './listenTo.js';
import { whyNoListener } from './recognise.js';

/**
 * Exercises that no starter program holds, and every sentence about precautions, heard by an independent recognizer (CMU
 * PocketSphinx, Debian) by the same rules as the starters. Doses and changes are as short as they may be. What a starter in
 * the same voice says, or one program as another one before it, is heard again only by the whole check.
 */

/** A later session has a short opening; what is new in it is explained in full. */
const programs = {
  'over a roll and with a band, in full words': `
  - { exercise: upper-back-roll, isNew: true, dose: { durationSeconds: 30 } }
  - { exercise: pursed-lip-breathing, isNew: true, dose: { reps: 3 } }
  - { exercise: band-pull-apart, isNew: true, dose: { sets: 2, reps: 3, setRestSeconds: 20 } }`,
  'of coughing and moving in bed, in full words': `
  - { exercise: huff-and-cough, isNew: true }
  - { exercise: moving-sideways-in-bed, isNew: true }
  - { exercise: moving-up-in-bed, isNew: true }`,
  'in short words, with every sentence about precautions': `
  - { exercise: ceiling-reach, dose: { sets: 2, reps: 3, setRestSeconds: 10 } }
  - { exercise: growing-long, dose: { reps: 3 } }
  - { exercise: head-turns, side: alternate, dose: { reps: 2 } }
  - { exercise: diagonal-reach, side: alternate, dose: { reps: 2 } }`,
  'in short words, on both sides': `
  - { exercise: heel-prop, side: both, dose: { durationSeconds: 30 } }
  - { exercise: strap-knee-bend, side: both, dose: { reps: 3 } }
  - { exercise: hip-flexor-edge, side: both, dose: { durationSeconds: 15 } }`,
};

const frame = `format: stillcount-program/1
title: Heard
session: { number: 4, seed: 2 }
changeTimes: { lyingDownSeconds: 10, sittingUpSeconds: 10, rollingSeconds: 4, placingSeconds: 5, movingLegsSeconds: 2 }
exercises:`;

const missing = whyNoListener();

/** Of the one voice in which all are spoken; the starters in it are heard by the test beside this one. */
const known = new Set<string>();
const heardBeside = ['first', 'breathing-and-relaxation'];

let folder: string;
let workshop: Workshop;
let spoken: Awaited<ReturnType<typeof spokenFolder>>;
let sentences: AppliedAdaptation[];

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-listening-'));
  spoken = await spokenFolder();
  workshop = await openWorkshop({ dataFolder: spoken.folder, templatesFolder: 'audio-templates' });
  sentences = await everySentence();
  for (const name of heardBeside) {
    const starter = await readProgramFile(`audio-templates/en/programs/${name}.yaml`, workshop);
    expect(starter.voice).toBe(programOf('of coughing and moving in bed, in full words').voice);
    const { script } = await makeSession(starter, workshop);
    for (const { text } of script.cues) if (text !== undefined) known.add(text);
  }
});
afterAll(async () => {
  await spoken.giveBack();
  await rm(folder, { recursive: true, force: true });
});

/** Every sentence that a settled precaution may speak, before what it meets. */
async function everySentence(): Promise<AppliedAdaptation[]> {
  const { precautions } = await readInterview('audio-templates', workshop.catalogues);
  const exercises = [...(workshop.catalogues.get('en')?.exercises.values() ?? [])];
  return precautions.flatMap(({ name, rules }) =>
    rules.flatMap((rule): AppliedAdaptation[] => {
      const { adapt: adaptation, measure } = rule;
      if (adaptation?.say === undefined || measure === 'leave-out') return [];
      const meets = exercises.filter(
        ({ id, loadTags }) =>
          rule.exercises?.includes(id) || loadTags.some((tag) => rule.loads?.includes(tag)),
      );
      const ids = [...meets.map(({ id }) => id), lyingDownAndGettingUpId];
      return [{ ruleId: rule.id, precaution: name, measure, adaptation, exercises: ids }];
    }),
  );
}

function programOf(name: keyof typeof programs): PrescribedProgram {
  const program = readProgram(`${frame}${programs[name]}\n`, 'heard.yaml', workshop.catalogues);
  return name.includes('every sentence') ? adaptProgram(program, sentences) : program;
}

describe.skipIf(missing !== '')(`an independent listener ${missing}`, () => {
  it.each(Object.keys(programs) as (keyof typeof programs)[])(
    'hears exercises %s: each cue in order, within 0.25 s',
    async (name) => {
      const program = programOf(name);
      const { script, audio } = await makeSession(program, workshop);
      const file = join(folder, 'heard.mp3');
      await writeFile(file, audio.read(0, audio.byteLength));
      const cues = script.cues.flatMap(({ text, startMs, endMs }) =>
        text === undefined ? [] : [{ text, startMs, endMs }],
      );
      for (const { adaptation } of program.adaptations)
        expect(cues.map(({ text }) => text)).toContain(adaptation.say?.full);
      const comparison = await listenTo(file, cues, isWhole('listener') ? undefined : known);
      expect(comparison.faults).toEqual([]);
      expect(comparison.offsetsMs).toHaveLength(comparison.cues.length);
      if (!isWhole('listener'))
        expect([...known]).toEqual(expect.arrayContaining(cues.map(({ text }) => text)));
    },
  );
});
