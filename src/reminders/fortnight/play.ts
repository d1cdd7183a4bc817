import { randomUUID } from 'node:crypto';
import type { Channel } from '../../channels/channel.js';
import { openTerminal } from '../../channels/terminal.js';
import { later } from '../../channels/whys.js';
import type { Messages } from '../../documents/messages.js';
import type { WarningSigns } from '../../followup/warningSigns.js';
import { addDays, isoDayIn, startOfDayMs, timeOfDayIn, wallClockInstant } from '../../schedule/wallClock.js';
import type { Store } from '../../store/openStore.js';
import { nextReminderMs } from '../../store/reminderWatch.js';
import { Runner } from '../runner.js';
import { openReminderSecrets } from '../secrets.js';
import { happen, type People, settle } from './happen.js';
import { readStory } from './story.js';

const minuteMs = 60_000;

/**
 * Plays two weeks of an invented patient in an empty database, with the service's own planning and sending and a clock
 * that leaps from one moment at which something is to be done to the next; each message is printed when it is sent.
 *
 * @returns how many messages were sent
 */
export async function playFortnight(
  store: Store,
  { messages, warningSigns }: { messages: Messages; warningSigns: WarningSigns },
  print: (text: string) => void,
): Promise<number> {
  const story = await readStory();
  let { zone } = story.patient;
  const endMs = startOfDayMs(addDays(story.from, story.days), zone);
  let nowMs = startOfDayMs(story.from, zone) - minuteMs;
  const now = () => nowMs;
  const secrets = await openReminderSecrets(store, nowMs);
  const people: People = await settle(store, story, nowMs);
  const terminal = openTerminal(print);
  let isMailAway = false;
  let sent = 0;
  const mail: Channel = {
    send: async (...message) => {
      if (isMailAway) return later('mail-unreachable');
      print(`\n--- ${inZone(nowMs, zone)}, by mail to:`);
      sent += 1;
      return terminal.send(...message);
    },
    close: () => terminal.close(),
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
      print(`\n=== ${inZone(nowMs, zone)}  ${next.say}`);
      if (next.do === 'mail-away' || next.do === 'mail-back') isMailAway = next.do === 'mail-away';
      else await happen(store, people, next, { nowMs, id: randomUUID(), secrets, warningSigns });
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
  return sent;
}

function inZone(atMs: number, zone: string): string {
  return `${isoDayIn(atMs, zone)} ${timeOfDayIn(atMs, zone)} ${zone}`;
}
