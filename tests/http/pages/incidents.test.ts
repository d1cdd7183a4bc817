import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { Incidents } from '../../../src/clinic/resources/incidents.js';
import { workError } from '../../../src/errors/stillcountError.js';
import { markIncidentsSeen, unseenIncidents } from '../../../src/store/engine/incidents.js';
import { openStore, type Store } from '../../../src/store/engine/openStore.js';
import { makeClinic } from '../../store/people.js';

const reference = /^[2-9A-Z]{4}-[2-9A-Z]{4}-[2-9A-Z]{4}$/;
const frames = expect.arrayContaining([expect.stringMatching(/^at .*incidents[.]test/)]);
const startMs = Date.UTC(2026, 10, 25);

let folder: string;
let store: Store;
let ownerId: string;
let logged: object[];
let clock: number;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-incidents-'));
  store = await openStore({ kind: 'sqlite', file: join(folder, 'clinic.db') });
  ownerId = (await store.write((db) => makeClinic(db, startMs))).clinicianId;
  logged = [];
  clock = startMs;
});
afterEach(async () => {
  await store.close();
  await rm(folder, { recursive: true, force: true });
});

const open = (on: Store = store) =>
  new Incidents({ store: on, log: (event) => logged.push(event), now: () => clock });
const unseen = () => store.read((db) => unseenIncidents(db, ownerId, 200));

describe('what fails while a service runs', () => {
  it('is logged at once in one line, with its cause and what it concerns, and nothing that was said', async () => {
    const incidents = open();
    const error = workError({ message: 'The speech for “Good morning, Rosa” could not be prepared.' });
    incidents.report({ code: 'session-not-made', error, patientId: 'patient-1' });
    incidents.report({ code: 'request-failed', error: new TypeError('Rosa is not'), requestId: 'request-1' });
    const cause = 'The speech for “…” could not be prepared';
    expect(logged).toEqual([
      {
        ...{ event: 'incident', code: 'session-not-made', cause, patient: 'patient-1' },
        request: expect.stringMatching(reference),
        error: { name: 'StillcountError', stack: frames, causes: [] },
      },
      {
        ...{ event: 'incident', code: 'request-failed', cause: 'TypeError', request: 'request-1' },
        error: { name: 'TypeError', stack: frames, causes: [] },
      },
    ]);
    await incidents.flush();
    const disguised = Object.assign(new RangeError('Rosa\n    at Rosa (Lind:1:1)', { cause: error }), {
      ...{ name: 'of Rosa Lind', code: 'Rosa Lind' },
    });
    incidents.report({ code: 'work-failed', error: disguised });
    expect(logged.at(-1), 'what it says does not pass for where it was').toMatchObject({
      cause: 'Error',
      error: { name: 'Error', stack: frames, causes: [{ name: 'StillcountError', stack: frames }] },
    });
    expect(JSON.stringify([logged, await unseen()])).not.toContain('Rosa');
  });

  it('is counted by kind and cause, over processes and restarts, and seen until it happens again', async () => {
    for (const incidents of [open(), open()]) {
      incidents.report({ code: 'work-failed', what: 'reminders not planned', error: new RangeError() });
      clock += 60_000;
      incidents.report({ code: 'work-failed', what: 'reminders not planned', error: new RangeError() });
      await incidents.flush();
    }
    const known = {
      ...{ code: 'work-failed', cause: 'reminders not planned: RangeError' },
      requestId: expect.stringMatching(reference),
      ...{ times: 4, firstAtMs: startMs, lastAtMs: startMs + 120_000 },
    };
    expect(await unseen()).toEqual([known]);
    await store.write((db) => markIncidentsSeen(db, ownerId, { upToMs: known.lastAtMs, nowMs: clock }));
    expect(await unseen()).toEqual([]);
    clock += 1;
    const again = open();
    again.report({ code: 'work-failed', what: 'reminders not planned', error: new RangeError() });
    await again.flush();
    expect(await unseen()).toEqual([{ ...known, times: 5, lastAtMs: clock }]);
  });

  it('can be put away when it was dated ahead by a clock that has been set back, and hides nothing after it', async () => {
    const fails = async (code: 'work-failed' | 'message-not-sent') => {
      const incidents = open();
      incidents.report({ code, error: 'why' });
      await incidents.flush();
    };
    const see = async () => {
      const upToMs = Math.max(...(await unseen()).map(({ lastAtMs }) => lastAtMs));
      await store.write((db) => markIncidentsSeen(db, ownerId, { upToMs, nowMs: clock }));
    };
    const dayMs = 86_400_000;
    clock = startMs + dayMs;
    await fails('work-failed');
    clock = startMs;
    await see();
    expect(await unseen(), 'put away after the clock was set back').toEqual([]);
    clock = startMs + dayMs;
    await fails('work-failed');
    await see();
    clock = startMs + 60_000;
    await fails('message-not-sent');
    const now = { firstAtMs: clock, lastAtMs: clock };
    expect(await unseen(), 'put away while the clock was ahead').toEqual(
      expect.arrayContaining([expect.objectContaining({ code: 'message-not-sent', times: 1, ...now })]),
    );
    await see();
    expect(await unseen()).toEqual([]);
    clock += 1;
    await fails('message-not-sent');
    expect(await unseen()).toEqual([expect.objectContaining({ code: 'message-not-sent', times: 2 })]);
  });

  it('is kept until the database works again, and never more than a hundred kinds of it', async () => {
    let isBroken = true;
    const failing: Store = {
      ...store,
      write: (work) =>
        isBroken ? Promise.reject(workError({ message: 'the disk is full' })) : store.write(work),
    };
    const incidents = open(failing);
    for (let round = 0; round < 2; round += 1) {
      for (let kind = 0; kind < 150; kind += 1) {
        clock += 1;
        incidents.report({ code: 'message-not-sent', error: `why-${kind}` });
      }
      await incidents.flush();
      expect(await unseen()).toEqual([]);
    }
    isBroken = false;
    await incidents.flush();
    expect((await unseen()).map(({ times }) => times)).toEqual(Array.from({ length: 100 }, () => 2));
    for (let kind = 150; kind < 190; kind += 1) {
      clock += 1;
      incidents.report({ code: 'message-not-sent', error: `why-${kind}` });
    }
    await incidents.flush();
    const left = await unseen();
    expect(left).toHaveLength(100);
    expect(left[0]?.cause, 'the newest first; the oldest went').toBe('why-189');
    expect(left.map(({ cause }) => cause)).not.toContain('why-0');
  });
});
