import { randomUUID } from 'node:crypto';
import type { Channel } from '../../channels/channel.js';
import { later, sent } from '../../channels/outcomes.js';
import { plainText } from '../../channels/plainText.js';
import { terminalAddressSchema } from '../../channels/terminal.js';
import type { Messages } from '../../documents/messages.js';
import type { WarningSigns } from '../../followup/warningSigns.js';
import { addDays, isoDayIn, startOfDayMs, timeOfDayIn, wallClockInstant } from '../../schedule/wallClock.js';
import { nextReminderMs } from '../../store/attention/reminderWatch.js';
import type { Store } from '../../store/engine/openStore.js';
import { minuteMs } from '../../time/units.js';
import { Runner } from '../runner.js';
import { openReminderSecrets } from '../secrets.js';
import { applyEvent, type People, setUpClinic } from './happen.js';
import { readStory } from './story.js';

/** What happens in the two weeks, and what is sent; `at` in the patient's local time. */
export type Played = { at: string; zone: string } & (
  | { kind: 'happening'; say: string }
  | { kind: 'message'; to: string; subject: string; text: string }
);

/**
 * Plays two weeks of an invented patient in an empty database, with the service's own planning and sending and a clock
 * that jumps from one due time to the next; each message is reported when it is sent.
 */
export async function runSimulation(
  store: Store,
  { messages, warningSigns }: { messages: Messages; warningSigns: WarningSigns },
  tell: (played: Played) => void,
): Promise<void> {
  const story = await readStory();
  let { zone } = story.patient;
  const endMs = startOfDayMs(addDays(story.from, story.days), zone);
  let nowMs = startOfDayMs(story.from, zone) - minuteMs;
  const now = () => nowMs;
  const secrets = await openReminderSecrets(store, nowMs);
  const people: People = await setUpClinic(store, story, nowMs);
  let isMailAway = false;
  const mail: Channel = {
    send: async (address, message) => {
      if (isMailAway) return later('mail-unreachable');
      const to = terminalAddressSchema.parse(address);
      tell({
        ...{ kind: 'message', ...inZone(nowMs, zone) },
        ...{ to, subject: message.subject, text: plainText(message) },
      });
      return sent;
    },
    close: async () => {},
  };
  const runner = new Runner({
    ...{ store, messages, secrets, now, random: () => 0.5, address: 'https://quillmere.example' },
    channels: new Map([['mail', mail]]),
    dataFolder: '',
    makeAhead: async () => {},
    onFailure: (_what, error) => {
      throw error;
    },
  });
  const happenings = [...story.happenings];
  const atMs = (at: string) => wallClockInstant(at.slice(0, 10), at.slice(11), story.patient.zone);
  while (nowMs < endMs) {
    for (let next = happenings[0]; next !== undefined && atMs(next.at) <= nowMs; next = happenings[0]) {
      happenings.shift();
      tell({ kind: 'happening', ...inZone(nowMs, zone), say: next.say });
      if (next.do === 'mail-away' || next.do === 'mail-back') isMailAway = next.do === 'mail-away';
      else await applyEvent(store, people, next, { nowMs, id: randomUUID(), secrets, warningSigns });
      if (next.do === 'move') zone = next.zone;
    }
    await runner.plan();
    await runner.sendWarnings();
    await runner.send();
    const due = await store.read(nextReminderMs);
    const [happening] = happenings;
    const moments = [due, happening === undefined ? null : atMs(happening.at)].flatMap((each) => each ?? []);
    nowMs = Math.max(nowMs + 1, Math.min(endMs, ...moments));
  }
}

function inZone(atMs: number, zone: string): { at: string; zone: string } {
  return { at: `${isoDayIn(atMs, zone)} ${timeOfDayIn(atMs, zone)}`, zone };
}
