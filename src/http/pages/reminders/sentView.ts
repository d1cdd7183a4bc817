import { deliveriesOf, type ShownDelivery } from '../../../store/reminding/deliveryLists.js';
import { timeInWords } from '../../../text/dates.js';
import type { Words } from '../../../text/words.js';
import { dayMs } from '../../../time/units.js';
import type { HttpResources } from '../../server/resources.js';

const shownDays = 30;
/** What is shown at once; the rest is one press away. */
const mostShownFirst = 10;
/** Three a day for four people over two ways, and some. */
const mostRead = 1_000;

/** What was sent about a patient, or was to be, and what came of it. */
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
  // What waits for its time is among what will be sent.
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

/** One message with what came of it, in plain words. */
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

/** Codes of the schedule and of the channels; a new one without words gets a sentence that holds for all. */
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
