/**
 * The service for `listen.ts`, in a separate process so that its memory can be measured: a clinic with many patients,
 * each with a link and their own program, already rendered.
 */

import { randomUUID } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { parse } from 'yaml';
import { hashToken, newToken } from '../../src/clinic/tokens.js';
import type { Plan } from '../../src/listening/plan.js';
import { limitHeapGrowth } from '../../src/service/limitHeapGrowth.js';
import { startService } from '../../src/service/start.js';
import { readSettings } from '../../src/session/settings.js';
import { openStore } from '../../src/store/engine/openStore.js';
import { makeLink } from '../../src/store/listening/listeningLinks.js';
import { addBenchPatient, makeBenchClinic } from './benchClinic.js';

// As `stillcount serve` does.
limitHeapGrowth();
const [, , folder = '', count = '1'] = process.argv;
const environment = { ...process.env, STILLCOUNT_DATA: folder, STILLCOUNT_PORT: '0' };
const settings = readSettings(environment);
const program: object = parse(
  await readFile(join(settings.templatesFolder, 'en', 'programs', 'first.yaml'), 'utf8'),
);

const store = await openStore({ kind: 'sqlite', file: join(folder, 'clinic.db') });
/** Noon, whenever the bench runs: no session is due at night. */
const nowMs = new Date().setUTCHours(12, 0, 0, 0);
const aheadMs = nowMs - Date.now();
const paths = await store.write(async (db) => {
  const made = await makeBenchClinic(db, nowMs);
  const { clinicId, clinicianId } = made;
  const links: string[] = [];
  for (let index = 0; index < Number(count); index += 1) {
    // Its own title makes each session unique.
    const content = {
      format: 'stillcount-prescription/1',
      program: { ...program, title: `Program ${index}` },
    };
    const patientId = await addBenchPatient(db, made, { name: `Person ${index}`, content, nowMs });
    const token = newToken();
    const secrets = { tokenHash: hashToken(token), codeHash: `code ${index}`, pinHash: null };
    const link = {
      clinicId,
      owner: { patientId },
      ...secrets,
      clinicianId,
      nowMs,
      expiresAtMs: nowMs + 1e10,
    };
    await makeLink(db, link);
    links.push(`/l/${token}/`);
  }
  return links;
});
await store.close();

const service = await startService(environment, () => undefined, { now: () => Date.now() + aheadMs });
for (const path of paths) {
  // Not the first request, which starts with a check of variable length.
  const { person, session } = await dueNow(path);
  const { prescriptionId, versionNumber, sessionNumber, slot } = session;
  const said = { patientId: person.id, prescriptionId, versionNumber, sessionNumber, slot };
  const step = { kind: 'step', id: randomUUID(), listeningId: randomUUID(), ...said, step: 'started' };
  await fetch(`${service.address}${path}report`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ sentAtMs: nowMs, items: [{ ...step, positionMs: 0, atMs: nowMs }] }),
  });
  // Rendered ahead of time, as during the night before.
  const next = await dueNow(path);
  await (await fetch(`${service.address}${path}${next.session.session}`)).text();
  await (await fetch(`${service.address}${path}prompts/${person.id}/welcome.mp3`)).arrayBuffer();
}
let largestMb = 0;
const timer = setInterval(() => {
  largestMb = Math.max(largestMb, process.memoryUsage.rss() / 1e6);
}, 50);
process.on('message', () => {
  clearInterval(timer);
  process.send?.({ largestMb });
});
process.send?.({ address: service.address, paths });

async function dueNow(path: string) {
  const plan: Plan = JSON.parse(await (await fetch(`${service.address}${path}plan.json`)).text());
  const [person] = plan.people;
  const session = person?.sessions[0];
  if (person === undefined || session === undefined) throw new RangeError('everybody has a session');
  return { person, session };
}
