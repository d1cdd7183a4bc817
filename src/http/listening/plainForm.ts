import { createHash } from 'node:crypto';
import { amountsDone, type CheckInAnswers, type ReportItem } from '../../listening/report.js';
import { type Fields, field } from '../forms/fields.js';

const mostNoteCharacters = 2_000;
/**
 * The same words from the same form within one such period are one report sent twice; later they are a new one, from a
 * page that was left open, and must not be dropped as a duplicate. Our choice; at the edge something is rather reported
 * twice.
 */
const sameReportMs = 10 * 60_000;

/** A report from the form without scripts; its claims are checked where reports are stored. */
export type PlainReport = { items: ReportItem[]; signs: readonly string[] };

/**
 * What the form without scripts reports: something is wrong, how a session was, or both. Nothing that was checked or
 * written is dropped, whichever button was pressed.
 *
 * @param nowMs the service's clock
 */
export function plainReport(fields: Fields, nowMs: number): PlainReport {
  const signs = textsIn(fields, 'sign');
  const answers = answersIn(fields);
  const isWarning = field(fields, 'what') !== 'check-in';
  const common = { ...placeIn(fields), atMs: nowMs };
  const idOf = (kind: string) =>
    idFor(field(fields, 'formId'), kind, JSON.stringify([fields, Math.floor(nowMs / sameReportMs)]));
  const items: ReportItem[] = [];
  if (isWarning) {
    const about = { listeningId: null, positionMs: null, signs: [...signs] };
    items.push({ kind: 'warning', id: idOf('warning'), ...common, ...about });
  }
  if (!isWarning || hasAnswers(answers)) {
    // With the warning, the signs have been reported; without it, they are part of the answers, and are a warning by
    // themselves.
    const ofSigns = isWarning ? {} : { signs: signs.length > 0 ? [...signs] : null };
    const listeningId = field(fields, 'formId');
    const id = idOf('check-in');
    items.push({ kind: 'check-in', id, listeningId, ...common, answers: { ...answers, ...ofSigns } });
  }
  return { items, signs };
}

function placeIn(fields: Fields) {
  return {
    patientId: field(fields, 'patientId'),
    prescriptionId: field(fields, 'prescriptionId'),
    versionNumber: Number(field(fields, 'versionNumber')),
    sessionNumber: Number(field(fields, 'sessionNumber')),
    slot: field(fields, 'slot'),
  };
}

/** A question on the page that was not answered was skipped. */
function answersIn(fields: Fields): CheckInAnswers {
  const number = (name: string) => {
    const text = field(fields, name);
    return text === '' ? null : Number(text);
  };
  // A form sends two characters for a line break, which its field counts as one.
  const note = field(fields, 'note').replaceAll('\r\n', '\n').trim().slice(0, mostNoteCharacters);
  return {
    done: amountsDone.find((amount) => amount === field(fields, 'done')) ?? null,
    painBefore: number('painBefore'),
    painAfter: number('painAfter'),
    effort: number('effort'),
    note: note === '' ? null : note,
  };
}

function hasAnswers(answers: CheckInAnswers): boolean {
  return Object.values(answers).some((answer) => answer !== null);
}

function textsIn(fields: Fields, name: string): readonly string[] {
  const value = fields[name] ?? [];
  return typeof value === 'string' ? [value] : value;
}

/**
 * An id that is the same for the same parts, so that a form sent twice is stored once, and different for different
 * text, so that nothing sent after going back is dropped as a duplicate (UUID version 8, RFC 9562).
 */
function idFor(...parts: readonly string[]): string {
  const bytes = createHash('sha256').update(JSON.stringify(parts)).digest().subarray(0, 16);
  bytes.writeUInt8((bytes.readUInt8(6) & 0x0f) | 0x80, 6);
  bytes.writeUInt8((bytes.readUInt8(8) & 0x3f) | 0x80, 8);
  const hex = bytes.toString('hex');
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-');
}
