import type { Troubles } from '../checks/troubles.js';
import { refused } from '../clinic/refusals.js';
import { isEncoderFault } from '../ffmpeg/encoderFault.js';
import type { Log } from '../log/log.js';
import type { SlotLimits } from '../session/fairSlots.js';

/**
 * Reports to owners that no session can be rendered because of the encoder, until one succeeds again; and tells callers
 * who request too many that they must wait.
 */
export function reportSoundTroubles(
  troubles: Troubles,
  log: Log,
): Pick<SlotLimits, 'onDone' | 'onFailed' | 'tooMuch'> {
  return {
    tooMuch: () => refused('voice-busy'),
    onDone: () => troubles.end('no-sound'),
    onFailed: (error) => {
      if (!isEncoderFault(error)) return;
      const [problem] = error.problems;
      // Only the encoder's cause: text that a voice could not speak may be a name.
      const cause = [problem?.message, problem?.found].filter((each) => each !== undefined).join('; ');
      log({ event: 'no-sound-made', cause });
      troubles.begin('no-sound', cause);
    },
  };
}
