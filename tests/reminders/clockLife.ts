/**
 * A process that sends by the clock while its wall clock is set, for `clock.test.ts`. Arguments: database file, moment
 * at which it begins. A message with a number of milliseconds has the clock leap by them, and a warning sign told.
 */

import { notifyOfWarning } from '../../src/reminders/planOthers.js';
import { Runner, startRunner } from '../../src/reminders/runner.js';
import { readMessages } from '../../src/session/readClinicWords.js';
import { openStore } from '../../src/store/engine/openStore.js';
import { patientById } from '../../src/store/people/chart.js';
import { leap, setClock } from './shiftedDate.js';
import { openWorld, templates } from './world.js';

const [, , file = '', moment = ''] = process.argv;
setClock(Number(moment));
const store = await openStore({ kind: 'sqlite', file });
const world = await openWorld(store);
const { clinicId, patientId, secrets } = world;
/** Once each, so that they can be counted. */
const telling = { ...world.telling, toldAgainAfterMinutes: [] };
world.set(Date.now());
await world.agree('reminders');
await world.prescribe({ timesADay: 1, timesOfDay: ['09:00'] });

const now = () => Date.now();
const runner = new Runner({
  ...{ store, secrets, now, address: 'https://clinic.example.org', random: () => 0.5, dataFolder: '' },
  channels: new Map([
    [
      'mail',
      {
        send: async (_to, { kind, key }) => {
          process.send?.({ kind, key });
          return { outcome: 'sent' };
        },
        close: async () => {},
      },
    ],
  ]),
  messages: await readMessages(templates),
  makeAhead: async () => {},
  onFailure: (_what, error) => {
    throw error;
  },
});
const running = startRunner(
  runner,
  (_what, error) => {
    throw error;
  },
  { oftenMs: 100, clocks: { compareEveryMs: 50 } },
);

let warnings = 0;
process.on('message', async (byMs: number) => {
  leap(byMs);
  warnings += 1;
  const warningId = `warning-${warnings}`;
  await store.write(async (db) => {
    const patient = await patientById(db, clinicId, patientId);
    if (patient === null) throw new RangeError('the patient is there');
    await notifyOfWarning(db, { clinicId, patient, warningId, telling, nowMs: now() }, secrets);
  });
});
process.on('disconnect', async () => {
  await running.end();
  await store.close();
});
process.send?.({ kind: 'begun', key: '' });
