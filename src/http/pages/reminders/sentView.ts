import { deliveriesOf, type ShownDelivery } from '../../../store/reminding/deliveryLists.js';
import { timeInWords } from '../../../text/dates.js';
import type { Words } from '../../../text/words.js';
import { dayMs } from '../../../time/units.js';
import type { HttpResources } from '../../server/resources.js';

const shownDays = 30;
/** The number shown at once; the rest is one click away. */
const mostShownFirst = 10;
/** Three a day for four people over two channels, and some more. */
const mostRead = 1_000;

/** Sent and failed messages about a patient, with their results. */
export async function sentView(
  { store, words }: Pick<HttpResources, 'store' | 'words'>,
  {
    patientId,
    patientName,
    zone,
    nowMs,
  }: { patientId: string; patientName: string; zone: string; nowMs: number },
): Promise<object> {
  const sinceMs = nowMs - shownDays * dayMs;
  const deliveries = await store.read((db) => deliveriesOf(db, patientId, { sinceMs, most: mostRead }));
  // Waiting ones are listed among the planned messages.
  const past = deliveries.filter(
    ({ state, attempts, forAtMs }) => state !== 'waiting' || attempts > 0 || forAtMs <= nowMs,
  );
  const isUnseen = ({ state, seenAtMs }: ShownDelivery) => state === 'failed' && seenAtMs === null;
  const view = (delivery: ShownDelivery) => deliveryView(delivery, words, { zone, patientName });
  const unseen = past.filter(isUnseen);
  return {
    shownDays,
    hasSent: past.length > 0,
    sent: past.slice(0, mostShownFirst).map(view),
    hasSentBefore: past.length > mostShownFirst,
    sentBefore: past.slice(mostShownFirst).map(view),
    hasUnseen: unseen.length > 0,
    unseen: unseen.map(view),
  };
}

/** One message with its result, in plain words. */
export function deliveryView(
  { kind, channel, state, why, forAtMs, nextAtMs, settledAtMs, isLate, attempts, to }: ShownDelivery,
  words: Words,
  { zone, patientName }: { zone: string; patientName: string | null },
): object {
  const isOpen = state === 'waiting' || state === 'sending';
  return {
    when: timeInWords(forAtMs, zone),
    to: to ?? patientName,
    over: words.channels[channel],
    what: words.deliveryKinds[kind],
    state: words.deliveryStates[state],
    why: why === null || state === 'sent' ? null : whyInWords(why, words),
    isLate: state === 'sent' && isLate,
    settled: settledAtMs === null || state !== 'sent' ? null : timeInWords(settledAtMs, zone),
    hasFailed: state === 'failed',
    attempts: isOpen && attempts > 0 ? attempts : null,
    again: state === 'waiting' && attempts > 0 ? timeInWords(nextAtMs, zone) : null,
  };
}

/** Codes of the schedule and of the channels; a new one without a text gets a general sentence. */
export function whyInWords(
  code: string,
  { unsent, channelFailureReasons, sendingFailureReasons, unknownFailureReason }: Words,
): string {
  const known: Readonly<Record<string, string>> = {
    ...channelFailureReasons,
    ...sendingFailureReasons,
    ...unsent,
  };
  return known[code] ?? unknownFailureReason;
}
