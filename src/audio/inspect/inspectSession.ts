import { inputError } from '../../errors/stillcountError.js';
import type { TimedScript } from '../../script/timedScript.js';
import { decodeMp3OrNull } from '../decodeMp3.js';
import { frameChecks, lengthChecks } from './fileChecks.js';
import { looksLikeMp3, readParts } from './fileParts.js';
import { equalRow, type Inspection, type InspectionRow, inspectionOf } from './inspection.js';
import { cueLevelChecks, loudnessChecks } from './levelChecks.js';
import { readTag, tagChecks } from './tagChecks.js';
import { beatChecks, longestSilenceCheck, silenceChecks } from './timingChecks.js';

/** Longest silence allowed in a session whose script is not at hand. */
const usualPresenceIntervalMs = 45_000;

/**
 * Measures a finished session: its frames, its stated and true length, loudness and true peak; and against its
 * script every beat, every cue, every silence, chapters, title and words.
 *
 * A damaged file, or one that belongs to another script, gives an inspection that did not pass.
 *
 * @throws StillcountError kind `input` when the bytes are no MP3 at all, kind `work` when there is no
 *   ffmpeg, or no room on the disk for what it is to read.
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
