import { type ChildProcess, execFileSync, spawn } from 'node:child_process';
import { afterEach, describe, expect, it } from 'vitest';
import { SpareProcesses } from '../../src/voice/embedded/spareProcesses.js';
import { openVoice } from '../../src/voice/openVoice.js';

const started: ChildProcess[] = [];
afterEach(() => {
  for (const child of started.splice(0)) child.kill('SIGKILL');
});

/** A process that waits for work until it is ended, with nothing to do at the moment. */
function idle(): ChildProcess {
  const child = spawn(process.execPath, ['-e', "process.on('disconnect', () => process.exit())"], {
    stdio: ['ignore', 'ignore', 'ignore', 'ipc'],
  });
  started.push(child);
  child.unref();
  child.channel?.unref();
  return child;
}

const ended = (child: ChildProcess) =>
  new Promise<NodeJS.Signals | null>((resolve) => {
    child.ref();
    child.once('exit', (_code, signal) => resolve(signal));
  });

describe('processes that nobody needs at the moment', () => {
  it('are given to whoever needs one next, each once', () => {
    const spare = new SpareProcesses({ most: 2, ms: 60_000 });
    const [first, second] = [idle(), idle()];
    spare.keep(first);
    spare.keep(second);
    expect([spare.take(), spare.take(), spare.take()]).toEqual([second, first, undefined]);
  });

  it('are ended where there are enough of them, and after a while', async () => {
    const enough = new SpareProcesses({ most: 1, ms: 60_000 });
    const [kept, tooMany] = [idle(), idle()];
    const gone = ended(tooMany);
    enough.keep(kept);
    enough.keep(tooMany);
    expect(await gone).toBe('SIGKILL');
    expect(enough.take()).toBe(kept);

    const brief = new SpareProcesses({ most: 1, ms: 1 });
    const late = ended(kept);
    brief.keep(kept);
    expect(await late).toBe('SIGKILL');
    expect(brief.take()).toBeUndefined();
  });

  it('are not given when they have ended by themselves', async () => {
    const spare = new SpareProcesses({ most: 1, ms: 60_000 });
    const child = idle();
    const gone = ended(child);
    spare.keep(child);
    child.kill('SIGTERM');
    await gone;
    expect(spare.take()).toBeUndefined();
  });
});

describe.skipIf(process.platform !== 'linux')(
  'an embedded voice that is opened after another was closed',
  () => {
    const synthesisers = () =>
      execFileSync('ps', ['-o', 'pid=,args=', '--ppid', String(process.pid)], { encoding: 'utf8' })
        .split('\n')
        .filter((line) => line.includes('synthesiserProcess'));
    const speak = async (id: string) => {
      const engine = await openVoice(id);
      const { samples } = await engine.synthesise({ text: 'Rest now.', wordsPerMinute: 135 });
      const running = synthesisers();
      await engine.close();
      return { samples, running };
    };

    it('starts no process of its own, and speaks in its own voice', async () => {
      const first = await speak('embedded:slt');
      const other = await speak('embedded:rms');
      const again = await speak('embedded:slt');
      for (const { running } of [other, again])
        expect(running.filter((each) => !first.running.includes(each))).toEqual([]);
      expect(again.samples).toEqual(first.samples);
      expect(other.samples).not.toEqual(first.samples);
    });
  },
);
