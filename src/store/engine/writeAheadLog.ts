import { readFileSync } from 'node:fs';
import { workError } from '../../errors/stillcountError.js';
import { errorCodeOf } from '../../files/fileProblem.js';
import { mendDamage } from './damage.js';

const [headerBytes, frameHeaderBytes] = [32, 24];
/** The "magic number" of the format: it determines the byte order of the checksums. */
const [littleEndian, bigEndian] = [0x377f0682, 0x377f0683];

/**
 * Whether the log left by a killed service holds everything that was acknowledged. SQLite reads such a log up to the
 * first invalid part and treats everything after it as never written: a signed version would be gone, and the one
 * before it current again, without a word. After an invalid part there can be one transaction, the last, that a power
 * failure interrupted before it was acknowledged; with more than one, something was lost.
 *
 * @returns `torn` if it may have been the last one; `whole` also if there is no log
 * @see SQLite manual, "Database File Format", section 4, "The Write-Ahead Log"
 */
export function inspectLog(log: Buffer): 'whole' | 'torn' | 'damaged' {
  if (log.length < headerBytes + frameHeaderBytes) return 'whole';
  const magic = log.readUInt32BE(0);
  const pageBytes = log.readUInt32BE(8);
  const add = adder(magic === bigEndian);
  const head = add({ a: 0, b: 0 }, log.subarray(0, 24));
  const isHead = (magic === littleEndian || magic === bigEndian) && isSum(head, log, 24);
  if (!isHead) return log.every((byte) => byte === 0) ? 'whole' : 'damaged';
  let sum = head;
  let isValid = true;
  let commitsBehind = 0;
  const frameBytes = frameHeaderBytes + pageBytes;
  for (let at = headerBytes; at + frameBytes <= log.length; at += frameBytes) {
    // Frames left behind by an earlier cycle of the log have other salts.
    const isOfThisTurn = log.compare(log, 16, 24, at + 8, at + 16) === 0;
    if (isValid) {
      sum = add(sum, log.subarray(at, at + 8));
      sum = add(sum, log.subarray(at + frameHeaderBytes, at + frameBytes));
      isValid = isOfThisTurn && isSum(sum, log, at + 16);
    }
    const endsTransaction = log.readUInt32BE(at + 4) !== 0;
    if (!isValid && isOfThisTurn && endsTransaction) commitsBehind += 1;
  }
  if (commitsBehind === 0) return 'whole';
  return commitsBehind === 1 ? 'torn' : 'damaged';
}

/**
 * Checks the log beside a SQLite file that no one has open.
 *
 * @returns whether the last transaction may be missing, because of a power failure or damage
 * @throws StillcountError kind `work` if more was lost
 */
export function refuseDamagedLog(file: string): boolean {
  const state = inspectLog(readLog(`${file}-wal`));
  if (state === 'damaged') throw damagedLog(file);
  return state === 'torn';
}

/**
 * Checks the log beside a SQLite file that no one has open, before it is opened for reading.
 *
 * @throws StillcountError kind `work` if something was lost, or the last transaction may be missing
 */
export function refuseUnreadLog(file: string): void {
  if (!refuseDamagedLog(file)) return;
  throw workError({
    message: 'the service was cut off while it saved something, and the last change may be missing',
    file: `${file}-wal`,
    hint: 'start the service once so that it notifies the owners, then run this again',
  });
}

const damagedLog = (file: string) =>
  workError({
    message: 'the database log is damaged: acknowledged changes would be missing',
    file: `${file}-wal`,
    hint: `nothing was started: ${mendDamage}`,
  });

function readLog(path: string): Buffer {
  try {
    return readFileSync(path);
  } catch (error) {
    if (errorCodeOf(error) === 'ENOENT') return Buffer.alloc(0);
    throw error;
  }
}

type Sum = { a: number; b: number };

function adder(isBigEndian: boolean): (sum: Sum, bytes: Buffer) => Sum {
  return ({ a, b }, bytes) => {
    for (let at = 0; at + 8 <= bytes.length; at += 8) {
      const first = isBigEndian ? bytes.readUInt32BE(at) : bytes.readUInt32LE(at);
      const second = isBigEndian ? bytes.readUInt32BE(at + 4) : bytes.readUInt32LE(at + 4);
      a = (a + first + b) >>> 0;
      b = (b + second + a) >>> 0;
    }
    return { a, b };
  };
}

/** Whatever the byte order of the sums' input, the sums themselves are written with the highest byte first. */
function isSum({ a, b }: Sum, log: Buffer, at: number): boolean {
  return log.readUInt32BE(at) === a && log.readUInt32BE(at + 4) === b;
}
