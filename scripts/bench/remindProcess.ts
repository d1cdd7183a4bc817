/**
 * One process of `remind.ts` that sends due messages to nobody, so that its time and memory can be measured. Arguments:
 * store settings as JSON, the time.
 */

import type { Channel } from '../../src/channels/channel.js';
import { Runner } from '../../src/reminders/runner.js';
import { openReminderSecrets } from '../../src/reminders/secrets.js';
import { readMessages } from '../../src/session/readClinicWords.js';
import { openStore } from '../../src/store/engine/openStore.js';

const [, , settings = '', moment = ''] = process.argv;
const nowMs = Number(moment);
const store = await openStore(JSON.parse(settings));
let sent = 0;
const nobody: Channel = {
  send: async () => {
    sent += 1;
    return { outcome: 'sent' };
  },
  close: async () => {},
};
const runner = new Runner({
  ...{ store, dataFolder: '', address: 'https://clinic.example.org', now: () => nowMs },
  secrets: await openReminderSecrets(store, nowMs),
  messages: await readMessages('audio-templates'),
  channels: new Map([['mail', nobody]]),
  makeAhead: async () => {},
  onFailure: (_what, error) => {
    throw error;
  },
});
process.send?.('ready');
await new Promise((resolve) => process.once('message', resolve));
const memory: number[] = [];
const timer = setInterval(() => memory.push(process.memoryUsage.rss() / 1e6), 100);
const start = performance.now();
await runner.send();
const seconds = (performance.now() - start) / 1000;
clearInterval(timer);
await store.close();
process.send?.({ sent, seconds, memory });
process.disconnect?.();
