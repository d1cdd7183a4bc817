import type { Parts } from './parts.js';

/** What reaches the clinic within moments need not be called unsent. */
const unsentAfterMs = 4_000;

/** What the clinic knows of a warning, as a sentence: it must never be trusted to know what it does not. */
export function describeClinicKnowledge({ words, courier }: Parts, personId: string): string {
  return words.say(courier.hasUnsentWarning(personId) ? 'warning-unsent' : 'warning-sent');
}

/**
 * Says aloud whether the clinic has a warning, as soon as that is known; and once more when it has it after all. What
 * is being said before is not broken off.
 */
export function speakClinicKnowledge(
  { prompts, courier }: Parts,
  personId: string,
  signal: AbortSignal,
): void {
  let spoken: 'warning-sent' | 'warning-unsent' | null = null;
  const say = async () => {
    const key = courier.hasUnsentWarning(personId) ? 'warning-unsent' : 'warning-sent';
    if (key === spoken || signal.aborted) return;
    spoken = key;
    await prompts.saying?.over;
    if (spoken === key && !signal.aborted) prompts.say(personId, key);
  };
  const sayIfSent = () => {
    if (!courier.hasUnsentWarning(personId)) say();
  };
  const timer = setTimeout(say, unsentAfterMs);
  signal.addEventListener('abort', () => clearTimeout(timer));
  courier.addEventListener('change', sayIfSent, { signal });
  sayIfSent();
}
