import { mkdtemp, readdir, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { Sqlite } from '../sqlite.js';
import { owner, Visitor } from '../support/clinic.js';
import { runStillcount } from './runStillcount.js';
import { startServe } from './service.js';

let folder: string;
let data: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-crash-'));
  data = join(folder, 'data');
});
afterEach(() => rm(folder, { recursive: true, force: true }));

/** Something that emits an error to which nobody listens, loaded into the process beside it; the error holds a name. */
async function faulty(when: string): Promise<NodeJS.ProcessEnv> {
  const file = join(folder, 'faulty.mjs');
  const emitter = "import { EventEmitter } from 'node:events';\nconst broken = new EventEmitter();\n";
  const fail = "() => broken.emit('error', new RangeError('Rosa Muster is out of range'))";
  await writeFile(file, `${emitter}const fail = ${fail};\n${when}\n`);
  return { NODE_OPTIONS: `--import=${pathToFileURL(file)}` };
}

describe.skipIf(process.platform === 'win32')('a service in which an error is caught by nobody', () => {
  it('logs it, keeps it for the owner, stops as it would, and ends with 1', async () => {
    const running = await startServe(data, await faulty("process.on('SIGUSR2', fail);"));
    await new Visitor(() => running.address).post(new URL(running.link ?? '').pathname, owner);
    running.child.kill('SIGUSR2');
    expect(await running.gone).toEqual({ code: 1, signal: null });
    // On a machine that is slow it also says what takes so long at a start.
    const events = running.logged.filter((line) => line.startsWith('{')).map((line) => JSON.parse(line));
    expect(events).toContainEqual({
      ...{ level: 'error', event: 'incident', code: 'crashed', cause: 'RangeError' },
      time: expect.stringMatching(/^\d{4}-\d\d-\d\dT[\d:.]+Z$/),
      request: expect.stringMatching(/^[2-9A-Z]{4}(-[2-9A-Z]{4}){2}$/),
      error: {
        ...{ name: 'RangeError', causes: [] },
        stack: expect.arrayContaining([expect.stringMatching(/^at .*faulty[.]mjs/)]),
      },
    });
    expect(running.logged.join('\n')).not.toMatch(/Rosa|out of range/);
    expect(
      (await readdir(data)).filter((name) => name.startsWith('clinic.db')),
      'it stopped as it would: the file is whole by itself',
    ).toEqual(['clinic.db']);
    const database = new Sqlite(join(data, 'clinic.db'), { readonly: true });
    const kept = database.prepare('select code, cause, times from incident').all();
    database.close();
    expect(kept).toEqual([{ code: 'crashed', cause: 'RangeError', times: 1 }]);
  });
});

describe('any other command in which an error is caught by nobody', () => {
  it('ends with 1 and one line, without what the error says', async () => {
    // A promise that nobody waits for is rejected as soon as somebody has begun to listen for that.
    const when =
      "process.on('newListener', (name) => { if (name === 'unhandledRejection') setImmediate(async () => fail()); });";
    const ended = await runStillcount(['voices'], { STILLCOUNT_DATA: data, ...(await faulty(when)) });
    expect(ended).toMatchObject({
      code: 1,
      stderr: expect.stringMatching(/^Something went wrong unexpectedly: RangeError \(at .*\)\n$/),
    });
    expect(ended.stderr).not.toContain('Rosa');
  });
});
