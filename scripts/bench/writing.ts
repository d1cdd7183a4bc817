/**
 * Run by render.ts in a separate process, compiled, as installed: writes a session whose segments are cached, and
 * alternates with the two usual ways of doing the same. Prints one line of JSON.
 *
 *     tsx scripts/bench/writing.ts PROGRAM.yaml DATA_FOLDER
 */
import { mkdtemp, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { renderSession } from '../../src/audio/renderSession.js';
import { soundsOf } from '../../src/audio/soundsOf.js';
import { writeWhole } from '../../src/files/wholeFile.js';
import { makeSession } from '../../src/session/makeSession.js';
import { readProgramFile } from '../../src/session/readProgramFile.js';
import { readSettings } from '../../src/session/settings.js';
import { openWorkshop } from '../../src/session/workshop.js';
import { median, secondsOf } from './timing.js';
import { delayAndMix, encodeWhole, wholePcm } from './usualWay.js';

const [programPath = '', dataFolder = ''] = process.argv.slice(2);
const workshop = await openWorkshop(readSettings({ ...process.env, STILLCOUNT_DATA: dataFolder }));
const { script, clips } = await makeSession(await readProgramFile(programPath, workshop), workshop);
const folder = await mkdtemp(join(tmpdir(), 'stillcount-bench-'));
try {
  const path = join(folder, 'session.mp3');
  const sounds = soundsOf(script, clips);
  const pcm = await wholePcm(sounds, script.durationMs);
  const mix = await delayAndMix(sounds, join(folder, 'mix'));
  const ways = {
    ours: async () => {
      const audio = await renderSession(script, clips, workshop.segments);
      await writeWhole(path, audio.chunks(), { durable: false });
    },
    encoding: () => encodeWhole(pcm),
    mixing: mix,
  };
  const seconds = { ours: [] as number[], encoding: [] as number[], mixing: [] as number[] };
  for (let turn = 0; turn < 5; turn += 1) {
    for (const way of ['ours', 'encoding', 'mixing'] as const) {
      seconds[way].push(await secondsOf(ways[way]));
    }
  }
  const middle = (values: number[]) => median(values.sort((a, b) => a - b));
  console.log(
    JSON.stringify({
      oursSeconds: middle(seconds.ours),
      encodingSeconds: middle(seconds.encoding),
      mixingSeconds: middle(seconds.mixing),
      ourBytes: (await stat(path)).size,
      plainBytes: (await encodeWhole(pcm)).length,
    }),
  );
} finally {
  await rm(folder, { recursive: true, force: true });
}
