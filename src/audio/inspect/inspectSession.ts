import { inputError } from '../../errors/stillcountError.js';
import type { TimedScript } from '../../script/timedScript.js';
import { decodeMp3OrNull } from '../decodeMp3.js';
import { frameChecks, lengthChecks } from './fileChecks.js';
import { looksLikeMp3, readParts } from './fileParts.js';
import { equalRow, type Inspection, type InspectionRow, inspectionOf } from './inspection.js';
import { cueLevelChecks, loudnessChecks } from './levelChecks.js';
import { readTag, tagChecks } from './tagChecks.js';
import { beatChecks, longestSilenceCheck, silenceChecks } from './timingChecks.js';

/** Longest silence allowed when no script is given. */
const usualPresenceIntervalMs = 45_000;

/**
 * Measures a finished session: its frames, its stated and actual length, its loudness and true peak. With a script, it
 * also compares every beat, cue and silence, the chapters, the title and the words.
 *
 * A damaged file, or one that belongs to another script, gives an inspection that fails.
 *
 * @throws StillcountError kind `input` when the bytes are not an MP3 file at all; kind `work` when there is no ffmpeg,
 *   or no disk space for its temporary file
 */
export async function inspectSession(bytes: Uint8Array, script: TimedScript | null): Promise<Inspection> {
  if (!looksLikeMp3(bytes)) {
    throw inputError({
      message: 'this is not an MP3 file',
      found: bytes.length === 0 ? 'an empty file' : `a file that starts with ${hex(bytes.subarray(0, 4))}`,
      allowed: 'a session.mp3',
    });
  }
  const parts = readParts(bytes);
  const tag = await readTag(bytes);
  const samples = await decodeMp3OrNull(bytes);
  const tagRows = script === null ? [] : tagChecks(tag, script);
  if (samples === null) {
    return inspectionOf([...frameChecks(parts), unreadable, ...tagRows]);
  }
  return inspectionOf([
    ...frameChecks(parts),
    ...lengthChecks(samples.length, parts, tag.durationMs, script?.durationMs),
    ...loudnessChecks(samples),
    ...(script === null
      ? [longestSilenceCheck(samples, usualPresenceIntervalMs)]
      : scriptRows(samples, script)),
    ...tagRows,
  ]);
}

function scriptRows(samples: Float32Array, script: TimedScript): InspectionRow[] {
  return [
    ...cueLevelChecks(samples, script),
    ...beatChecks(samples, script),
    ...silenceChecks(samples, script),
  ];
}

const unreadable = equalRow('decoded', 'read by an independent decoder', 'it gave up', 'it reads the file');

function hex(bytes: Uint8Array): string {
  return Buffer.from(bytes).toString('hex');
}
