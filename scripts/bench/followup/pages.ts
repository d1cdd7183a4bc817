import { mkdtemp, rm } from 'node:fs/promises';
import { get } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { newToken } from '../../../src/clinic/tokens.js';
import { startService } from '../../../src/service/start.js';
import { openStore } from '../../../src/store/engine/openStore.js';
import { secondsOf } from '../timing.js';
import { fillWithSessions } from './pagesFill.js';
import { type Row, within } from './row.js';

const people = 500;
const asked = 40;
const mostMs = 50;
/** Nobody waits for this page in the middle of a task; a delay of a second would be noticeable. Our choice. */
const mostClinicMs = 200;

/** Measures the follow-up page of a patient with a year of two sessions a day, and the page of the clinic. */
export async function pageRows(): Promise<Row[]> {
  const folder = await mkdtemp(join(tmpdir(), 'stillcount-bench-follow-up-'));
  try {
    const token = newToken();
    const store = await openStore({ kind: 'sqlite', file: join(folder, 'clinic.db') });
    const patientId = await store.write((db) => fillWithSessions(db, people, token));
    await store.close();
    const environment = { ...process.env, STILLCOUNT_DATA: folder, STILLCOUNT_PORT: '0' };
    const service = await startService(environment, () => undefined);
    const open = (path: string) => answered(`${service.address}${path}`, token);
    const year = `/patients/${patientId}/follow-up?period=year`;
    const firstMs = 1000 * (await secondsOf(() => open(year)));
    const rows = [
      within(
        'follow-up of a year of two sessions a day, median',
        await medianMs(() => open(year)),
        mostMs,
        'ms',
      ),
      within(
        `the clinic of ${people} people, median`,
        await medianMs(() => open('/clinic-view')),
        mostClinicMs,
        'ms',
      ),
      within('the follow-up for the first time, eight versions laid out', firstMs, 2_000, 'ms'),
    ];
    await service.stop();
    return rows;
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

/** Resolves when the whole response has arrived; rendering in a browser is not the service's time. */
function answered(address: string, token: string): Promise<void> {
  return new Promise((resolve, reject) => {
    get(address, { headers: { cookie: `stillcount=${token}` } }, (response) => {
      response.on('data', () => undefined).on('error', reject);
      response.on('end', () => {
        if (response.statusCode === 200) resolve();
        else reject(new RangeError(`${address} answered with ${response.statusCode}`));
      });
    }).on('error', reject);
  });
}

/** Sends requests one after the other from the same machine, as one clinician's browser does. */
async function medianMs(ask: () => Promise<void>): Promise<number> {
  const times: number[] = [];
  for (let run = 0; run < asked; run += 1) times.push(1000 * (await secondsOf(ask)));
  return times.sort((a, b) => a - b)[asked / 2] ?? Number.NaN;
}
