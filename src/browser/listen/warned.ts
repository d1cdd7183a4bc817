import type { Parts } from './parts.js';

/** A warning that reaches the clinic within this time is not called unsent. */
const unsentAfterMs = 4_000;

/**
 * Returns a sentence about what the clinic knows of a warning. It must never let the listener believe that the clinic
 * knows more than it does.
 */
export function describeClinicKnowledge({ words, courier }: Parts, personId: string): string {
  return words.say(courier.hasUnsentWarning(personId) ? 'warning-unsent' : 'warning-sent');
}

/**
 * Speaks whether the clinic has a warning, as soon as that is known, and again when it has it after all. It does not
 * interrupt the sentence being spoken.
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
