import { samplesPerMs } from '../../signal/sampleRate.js';
import { frameMs } from '../mp3Frame.js';
import { type FileParts, statedSamples } from './fileParts.js';
import { boundedRow, equalRow, type InspectionRow } from './inspection.js';

/** Checks the chain of frames, and what the seek header says about it. */
export function frameChecks(parts: FileParts): InspectionRow[] {
  const whole = equalRow('frames', 'every frame legal and in its place', parts.fault ?? 'all', 'all');
  if (parts.seek === undefined) {
    return [whole, equalRow('seek-header', 'seek header', 'none', 'present')];
  }
  const { seek } = parts;
  const facts = (frames: number, bytes: number, crc: number) =>
    `${frames} frames, ${bytes} bytes, checksum ${crc.toString(16).padStart(4, '0')}`;
  return [
    whole,
    equalRow('seek-header', 'seek header', seek.intact ? 'intact' : 'damaged', 'intact'),
    equalRow(
      'seek-totals',
      'frames and bytes as stated',
      facts(parts.frameCount, parts.byteCount, parts.framesCrc16),
      facts(seek.frameCount, seek.byteCount, seek.framesCrc16),
    ),
  ];
}

/**
 * Checks the decoded length against every stated length: that of the gapless fields to the sample, that of a reader
 * that ignores those fields within the two frames it cannot know about, and that of the script.
 */
export function lengthChecks(
  decodedSamples: number,
  parts: FileParts,
  readerMs: number | undefined,
  scriptMs: number | undefined,
): InspectionRow[] {
  const decodedMs = decodedSamples / samplesPerMs;
  const rows: InspectionRow[] = [];
  if (parts.seek !== undefined) {
    rows.push(
      equalRow(
        'length-stated',
        'length in samples, decoded and stated',
        String(decodedSamples),
        String(statedSamples(parts.seek)),
      ),
    );
  }
  rows.push(
    boundedRow(
      'length-reader',
      'length to a plain reader, beyond the decoded',
      (readerMs ?? Number.NaN) - decodedMs,
      {
        least: 0,
        most: 3 * frameMs,
        unit: 'ms',
        decimals: 0,
      },
    ),
  );
  if (scriptMs !== undefined) {
    rows.push(equalRow('length-script', 'length against the script', `${decodedMs} ms`, `${scriptMs} ms`));
  }
  return rows;
}
