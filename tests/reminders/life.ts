/**
 * One life of a process that sends reminders, for `crash.test.ts`: it kills itself without a word at one of the steps
 * between the database and the mail server. Arguments: database file, mail server's address, moment, step to die at
 * (0 for none).
 */

import { dirname, join } from 'node:path';
import type { Channel } from '../../src/channels/channel.js';
import { openMail } from '../../src/channels/mail.js';
import { BlobCache } from '../../src/files/blobCache.js';
import { Runner } from '../../src/reminders/runner.js';
import { openReminderSecrets } from '../../src/reminders/secrets.js';
import { readMessages } from '../../src/session/readClinicWords.js';
import { openStore, type Store } from '../../src/store/engine/openStore.js';

const [, , file = '', mailUrl = '', moment = '', dieAt = ''] = process.argv;
const nowMs = Number(moment);
let steps = 0;
/** The start is not sending. */
let isCounting = false;

function step(): void {
  if (!isCounting) return;
  steps += 1;
  if (steps === Number(dieAt)) process.kill(process.pid, 'SIGKILL');
}

const real = await openStore({ kind: 'sqlite', file });
const store: Store = {
  ...real,
  write: async (work) => {
    step();
    const result = await real.write(async (db) => {
      const inner = await work(db);
      // Everything is written, and nothing is kept yet.
      step();
      return inner;
    });
    step();
    return result;
  },
};
const mail = await openMail({
  STILLCOUNT_MAIL_URL: mailUrl,
  STILLCOUNT_MAIL_FROM: 'clinic@example.org',
});
if (mail === null) throw new RangeError('mail is set up');
const channel: Channel = {
  send: async (...message) => {
    step();
    const outcome = await mail.send(...message);
    step();
    return outcome;
  },
  close: () => mail.close(),
};
const secrets = await openReminderSecrets(store, nowMs);
const runner = new Runner({
  ...{ store, secrets, address: 'https://clinic.example.org', random: () => 0, now: () => nowMs },
  channels: new Map([['mail', channel]]),
  messages: await readMessages('audio-templates', new BlobCache(join(dirname(file), 'cache'))),
  dataFolder: '',
  makeAhead: async () => {},
  onFailure: (_what, error) => {
    throw error;
  },
});
isCounting = true;
await runner.plan();
await runner.send();
isCounting = false;
await channel.close();
await store.close();
process.send?.({ steps });
process.disconnect?.();
