import { StillcountError } from '../errors/stillcountError.js';
import { decideDelivery } from '../schedule/sending.js';
import type { Store } from '../store/engine/openStore.js';
import { type Claimed, unansweredWhy } from '../store/reminding/deliveries.js';
import type { SendingFacts } from '../store/reminding/sendingFacts.js';
import { decideAccount } from './accountNews.js';
import type { Choice } from './choice.js';
import type { ClaimedReminder, Moments } from './deliveryContext.js';
import { decideDigest, decideNote, decideWarning } from './otherKinds.js';

/** What is known when a batch of deliveries is examined. */
export type Now = { facts: SendingFacts; moments: Moments; nowMs: number };

/**
 * Decides what to do now with a claimed delivery. A problem with one record must not hold up the others in its batch.
 *
 * @throws StillcountError when the database cannot be read
 */
export async function chooseDelivery(store: Store, claimed: Claimed, now: Now): Promise<Choice> {
  try {
    return await chooseByKind(store, claimed, now);
  } catch (error) {
    if (error instanceof StillcountError) throw error;
    return { do: 'fail', why: 'record-unreadable' };
  }
}

async function chooseByKind(store: Store, claimed: Claimed, { facts, moments, nowMs }: Now): Promise<Choice> {
  // Its last holder died while waiting for the response. A warning is better sent twice than never.
  if (claimed.why === unansweredWhy && !isTwiceBetter(claimed)) return { do: 'fail', why: unansweredWhy };
  if (claimed.kind === 'warning') return decideWarning(store, claimed, facts, nowMs);
  if (claimed.kind === 'note') return decideNote(store, claimed, facts, nowMs);
  if (claimed.kind === 'account') return decideAccount(store, claimed, facts, nowMs);
  if (claimed.kind === 'digest') return decideDigest(store, claimed, facts, nowMs);
  if (!isReminder(claimed)) return { do: 'drop', why: 'changed' };
  const moment = moments.of(claimed);
  const decision = decideDelivery(moment);
  if (decision.do === 'send') {
    return { ...decision, view: { isUnreminded: moment.ownReminder?.state === 'unsent' } };
  }
  // It was tried in time: not getting through is a failure, not lateness.
  const wasTried = decision.do === 'miss' && claimed.attempts > 1;
  return wasTried ? { do: 'fail', why: 'tried-too-long' } : decision;
}

/** For a message that may have arrived: whether sending it again does less harm than not sending it. */
export function isTwiceBetter({ kind }: Claimed): boolean {
  return kind === 'warning' || kind === 'note';
}

function isReminder(claimed: Claimed): claimed is ClaimedReminder {
  const { kind, patientId, prescriptionId, slot } = claimed;
  return (
    (kind === 'due' || kind === 'not-begun') && patientId !== null && prescriptionId !== null && slot !== null
  );
}
