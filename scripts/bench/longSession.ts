/**
 * Run by render.ts in a separate process: renders a 60-minute session from a script and cached clips, with no segment
 * cached, then reads ranges of it. Prints one line of JSON.
 *
 *     tsx scripts/bench/longSession.ts PROGRAM.yaml DATA_FOLDER
 */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { renderSession } from '../../src/audio/renderSession.js';
import { SegmentStore } from '../../src/audio/segmentStore.js';
import { BlobCache } from '../../src/files/blobCache.js';
import { writeWhole } from '../../src/files/wholeFile.js';
import type { TimedScript } from '../../src/script/timedScript.js';
import { makeScript } from '../../src/session/makeSession.js';
import { readProgramFile } from '../../src/session/readProgramFile.js';
import { readSettings } from '../../src/session/settings.js';
import { openWorkshop } from '../../src/session/workshop.js';

const [programPath = '', dataFolder = ''] = process.argv.slice(2);
const workshop = await openWorkshop(readSettings({ ...process.env, STILLCOUNT_DATA: dataFolder }));
const { script, clips } = await makeScript(await readProgramFile(programPath, workshop), workshop);
const long = repeated(script, Math.round(3_600_000 / script.durationMs));
const folder = await mkdtemp(join(tmpdir(), 'stillcount-bench-'));
try {
  const audio = await renderSession(long, clips, new SegmentStore(new BlobCache(folder)));
  await writeWhole(join(folder, 'session.mp3'), audio.chunks());
  const residentMb = (process.resourceUsage().maxRSS * 1024) / 1e6;
  const rangeMs: number[] = [];
  for (let i = 0; i <= 200; i += 1) {
    const start = Math.floor((audio.byteLength * i) / 201);
    for (const end of [start + 1, start + 65_536, start + 1_048_576, audio.byteLength]) {
      rangeMs.push(handOver(audio.chunks(start, end)));
    }
  }
  const minutes = long.durationMs / 60_000;
  console.log(JSON.stringify({ minutes, residentMb, worstRangeMs: Math.max(...rangeMs) }));
} finally {
  await rm(folder, { recursive: true, force: true });
}

/** Returns the milliseconds until the last piece is ready, as a server would send them. */
function handOver(pieces: Iterable<Buffer>): number {
  const before = performance.now();
  let bytes = 0;
  for (const piece of pieces) bytes += piece.length;
  return bytes === 0 ? Number.NaN : performance.now() - before;
}

/** Repeats a session several times as one; every copy starts 7 ms later in its frame, so no segment repeats. */
function repeated(once: TimedScript, times: number): TimedScript {
  const stepMs = once.durationMs + 7;
  const copies = Array.from({ length: times }, (_, index) => {
    const moved = <Span extends { startMs: number; endMs: number }>(span: Span): Span => ({
      ...span,
      startMs: span.startMs + index * stepMs,
      endMs: span.endMs + index * stepMs,
    });
    return once.cues.map((cue) => ({
      ...moved(cue),
      ...(cue.tone === undefined ? {} : { tone: moved(cue.tone) }),
    }));
  });
  return { ...once, durationMs: times * stepMs, cues: copies.flat() };
}
