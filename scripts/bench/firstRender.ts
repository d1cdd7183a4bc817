/**
 * Run by render.ts in a separate process, compiled, as installed: renders a program with nothing cached, and alternates
 * with timing the engine on the same wordings one after the other. Prints one line of JSON.
 *
 *     tsx scripts/bench/firstRender.ts PROGRAM.yaml
 */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { PrescribedProgram } from '../../src/program/prescribed.js';
import { layOut, wordingsIn } from '../../src/script/layOutSession.js';
import { makeSession, rateOf } from '../../src/session/makeSession.js';
import { readProgramFile } from '../../src/session/readProgramFile.js';
import { readSettings } from '../../src/session/settings.js';
import { openWorkshop } from '../../src/session/workshop.js';
import { asciiText } from '../../src/voice/embedded/asciiText.js';
import { durationStretch } from '../../src/voice/embedded/calibration.js';
import { openVoice } from '../../src/voice/openVoice.js';
import { speakableText } from '../../src/voice/speakableText.js';
import { speakPlainly } from './plainEngine.js';
import { secondsOf } from './timing.js';

const [programPath = ''] = process.argv.slice(2);
const folder = await mkdtemp(join(tmpdir(), 'stillcount-bench-'));
try {
  const runs: { renderSeconds: number; plainSeconds: number; reusedSeconds: number }[] = [];
  for (let run = 0; run < 5; run += 1) {
    const data = join(folder, `first-${run}`);
    const workshop = await openWorkshop(readSettings({ ...process.env, STILLCOUNT_DATA: data }));
    const program = await readProgramFile(programPath, workshop);
    runs.push({
      renderSeconds: await secondsOf(() => makeSession(program, workshop)),
      plainSeconds: await secondsOf(() => speakAsPackaged(program)),
      reusedSeconds: await secondsOf(() => speakWithOurs(program)),
    });
  }
  console.log(JSON.stringify(runs));
} finally {
  await rm(folder, { recursive: true, force: true });
}

/** The program's wordings with the speech rates that a session uses. */
function wordingsOf(program: PrescribedProgram) {
  return wordingsIn(layOut(program, false)).map(({ text, crisp }) => ({
    text,
    wordsPerMinute: rateOf(program, crisp),
  }));
}

/** Uses only the engine's package: nothing is checked, prepared or cached. */
async function speakAsPackaged(program: PrescribedProgram): Promise<void> {
  const voice = program.voice === 'embedded:rms' ? 'rms' : 'slt';
  const phrases = wordingsOf(program).map(({ text, wordsPerMinute }) => ({
    voice,
    durationStretch: durationStretch(voice, wordsPerMinute),
    text: asciiText(speakableText(text)),
  }));
  if ((await speakPlainly(phrases)) === 0) throw new Error('the engine said nothing');
}

/** Uses our engine, which reuses its instance. */
async function speakWithOurs(program: PrescribedProgram): Promise<void> {
  const engine = await openVoice(program.voice);
  try {
    for (const wording of wordingsOf(program)) await engine.synthesise(wording);
  } finally {
    await engine.close();
  }
}
