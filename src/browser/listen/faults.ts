import type { Parts } from './parts.js';
import { type Fault, isFault } from './prompts.js';
import { startTimeout } from './timeout.js';

/** A listener with eyes closed must not wait long to hear that something is wrong, nor hear the wrong reason. */
const patienceMs = 1_500;

/** Returns why a sound cannot be played, as far as the service can still tell. */
export async function faultOf(address: string): Promise<Fault> {
  if (!navigator.onLine) return 'no-network';
  const { signal, end } = startTimeout(patienceMs);
  try {
    const { status } = await fetch(address, { method: 'HEAD', cache: 'no-store', signal });
    if (status === 410) return 'program-changed';
    return status === 404 || status === 401 ? 'page-ended' : 'no-sound';
  } catch {
    return 'no-network';
  } finally {
    end();
  }
}

/**
 * Speaks what is wrong and what to do; resolves when it has been spoken. The text is also put where a screen reader
 * finds it.
 */
export async function speakFault(
  { words, prompts, announce }: Pick<Parts, 'words' | 'prompts' | 'announce'>,
  personId: string,
  fault: Fault,
): Promise<void> {
  // Two parts of the page may notice the same fault.
  const saying = prompts.saying;
  if (saying?.key === fault) return void (await saying.over);
  const text = words.say(`fault-${fault}`);
  announce(text);
  if ((await prompts.say(personId, fault)) === 'failed') sayByDevice(text);
}

/** Speaks the fault of a sentence that could not be played, because the listener has to hear about that too. */
export async function speakPlaybackFault(parts: Parts, personId: string, address: string): Promise<void> {
  const fault = await faultOf(address);
  const { saying } = parts.prompts;
  if (saying !== null && !isFault(saying.key)) return;
  await speakFault(parts, personId, fault === 'program-changed' ? 'no-sound' : fault);
}

/** Speaks with the phone's own voice, which needs no network; not every browser has one. */
function sayByDevice(text: string): void {
  if (!('speechSynthesis' in window)) return;
  const utterance = new SpeechSynthesisUtterance(text);
  utterance.lang = document.documentElement.lang;
  speechSynthesis.speak(utterance);
}
