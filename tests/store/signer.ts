import { openStore } from '../../src/store/engine/openStore.js';
import { versionsOf } from '../../src/store/people/chart.js';
import { signVersion } from '../../src/store/prescribing/prescriptions.js';

/** Signs one version after the other until it is killed, and prints each number once it is acknowledged. */
const [file = '', prescriptionId = '', clinicianId = ''] = process.argv.slice(2);
const store = await openStore({ kind: 'sqlite', file });
let number = (await store.read((db) => versionsOf(db, prescriptionId)))[0]?.number ?? 0;
for (;;) {
  const signing = {
    title: 'T',
    content: '{}',
    screeningId: null,
    reason: 'r',
    signedBy: clinicianId,
    nowMs: Date.now(),
  };
  const next = await store.write((db) => signVersion(db, prescriptionId, number, signing));
  if (next === null) throw new RangeError('nobody else signs here');
  number = next;
  process.stdout.write(`${number}\n`);
}
