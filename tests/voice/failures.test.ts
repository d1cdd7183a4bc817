import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { StillcountError } from '../../src/errors/stillcountError.js';
import { listVoices, openVoice } from '../../src/voice/openVoice.js';

const folder = mkdtempSync(join(tmpdir(), 'stillcount-failing-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

async function failureOf(work: Promise<unknown>): Promise<StillcountError> {
  const error = await work.then(
    () => undefined,
    (thrown: unknown) => thrown,
  );
  expect(error).toBeInstanceOf(StillcountError);
  return error instanceof StillcountError ? error : expect.unreachable();
}

/** A voice command that runs this JavaScript. */
function script(name: string, body: string, timeoutMs = 20_000) {
  const path = join(folder, `${name}.mjs`);
  writeFileSync(path, body);
  return openVoice('command', {
    timeoutMs,
    environment: { STILLCOUNT_VOICE_COMMAND: JSON.stringify([process.execPath, path]) },
  });
}

const phrase = { text: 'five', wordsPerMinute: 135 };

describe('a voice program that fails', () => {
  it('is named when it is not there', async () => {
    const environment = { STILLCOUNT_VOICE_COMMAND: '["no-such-voice-program"]' };
    const error = await failureOf(openVoice('command', { environment }));
    expect(error.kind).toBe('work');
    expect(error.message).toContain('no-such-voice-program was not found');
    const listed = (await listVoices({ environment })).find(({ id }) => id === 'command');
    expect(listed).toMatchObject({ available: false, why: expect.stringContaining('was not found') });
  });

  it('is quoted with its last line when it ends with an error', async () => {
    const engine = await script(
      'exit3',
      "console.error('starting'); console.error('no model'); process.exit(3);",
    );
    const error = await failureOf(engine.synthesise(phrase));
    expect(error.kind).toBe('work');
    expect(error.message).toContain(process.execPath);
    expect(error.message).toContain('exit code 3');
    expect(error.problems[0]?.found).toBe('no model');
  });

  it.each([
    ['nothing', ''],
    ['words', "process.stdout.write('I am not a sound');"],
    ['a header only', "process.stdout.write('RIFF\\0\\0\\0\\0WAVE');"],
    ['a header cut short', "process.stdout.write('RIFF\\0\\0\\0\\0WAVEfmt ');"],
    ['random bytes', "import('node:crypto').then((c) => process.stdout.write(c.randomBytes(5000)));"],
  ])('is refused when it writes %s', async (what, body) => {
    const engine = await script(`bad ${what}`, body);
    const error = await failureOf(engine.synthesise(phrase));
    expect(error.kind).toBe('work');
    expect(error.message).toContain('gave no usable speech');
    expect(error.message).not.toContain('\n    at ');
  });

  it('is ended with all that it started when it hangs', async () => {
    const pidFile = join(folder, 'pid');
    const body = `
      import { spawn } from 'node:child_process';
      import { writeFileSync } from 'node:fs';
      const inner = spawn(process.execPath, ['-e', 'setInterval(() => {}, 1000)'], { stdio: 'inherit' });
      writeFileSync(${JSON.stringify(pidFile)}, String(inner.pid));
      setInterval(() => {}, 1000);`;
    const engine = await script('hang', body, 5000);
    const startedAt = Date.now();
    const error = await failureOf(engine.synthesise(phrase));
    expect(error.message).toContain('took longer than 5 s');
    expect(Date.now() - startedAt).toBeLessThan(10_000);
    const innerPid = Number(readFileSync(pidFile, 'utf8'));
    await expect.poll(() => isRunning(innerPid), { timeout: 60_000 }).toBe(false);
  });

  it('is ended when it writes without end', async () => {
    const engine = await script(
      'endless',
      'const b = Buffer.alloc(1 << 20); const w = () => process.stdout.write(b, w); w();',
    );
    expect((await failureOf(engine.synthesise(phrase))).message).toContain('wrote without end');
  });
});

/** A process that was killed but not yet reaped by its new parent no longer runs. */
function isRunning(pid: number): boolean {
  try {
    process.kill(pid, 0);
  } catch {
    return false;
  }
  if (process.platform !== 'linux') return true;
  try {
    return !/^State:\s+Z/m.test(readFileSync(`/proc/${pid}/status`, 'utf8'));
  } catch {
    return false;
  }
}

describe('the embedded voice', () => {
  it('says so when a phrase takes too long', async () => {
    const engine = await openVoice('embedded:slt', { timeoutMs: 5 });
    expect((await failureOf(engine.synthesise(phrase))).message).toContain('took longer than');
    await engine.close();
  });

  it('refuses a script that it cannot read, and words after it was closed', async () => {
    const engine = await openVoice('embedded:rms');
    const error = await failureOf(engine.synthesise({ text: '放松', wordsPerMinute: 135 }));
    expect(error.message).toContain('放松');
    await engine.close();
    await engine.close();
    expect((await failureOf(engine.synthesise(phrase))).message).toContain('closed');
  });

  it('rejects what is waiting when it is closed', async () => {
    const engine = await openVoice('embedded:rms');
    const waiting = Array.from({ length: 6 }, () => failureOf(engine.synthesise(phrase)));
    await engine.close();
    for (const error of await Promise.all(waiting)) expect(error.message).toContain('closed');
  });
});

describe('choosing a voice', () => {
  it.each([
    ['embeded:slt', 'embedded:slt'],
    ['Embedded:RMS', 'embedded:rms'],
    ['sytem', 'system'],
  ])('suggests the nearest one for %s', async (id, nearest) => {
    const error = await failureOf(openVoice(id));
    expect(error.kind).toBe('input');
    expect(error.problems[0]).toMatchObject({ path: 'voice', found: id, hint: `Did you mean ${nearest}?` });
    expect(error.problems[0]?.allowed).toContain('embedded:slt');
  });

  it('suggests nothing for a name that is near to none', async () => {
    expect((await failureOf(openVoice('a quite different one'))).problems[0]?.hint).toBeUndefined();
  });

  it.each(['system:-v', "system:x';rm", 'system:$(x)', 'system:', 'system:../x', `system:${'a'.repeat(99)}`])(
    'refuses %j as the name of a system voice',
    async (id) => {
      expect((await failureOf(openVoice(id))).kind).toBe('input');
    },
  );

  it.each(['not json', '{}', '[]', '[1]', '[""]', '"espeak-ng"', '["a\\u0000b"]'])(
    'refuses %s as the voice command',
    async (setting) => {
      const error = await failureOf(
        openVoice('command', { environment: { STILLCOUNT_VOICE_COMMAND: setting } }),
      );
      expect(error.kind).toBe('input');
      expect(error.problems[0]?.path).toBe('STILLCOUNT_VOICE_COMMAND');
    },
  );

  it('says how to configure the command voice', async () => {
    const error = await failureOf(openVoice('command', { environment: {} }));
    expect(error).toMatchObject({ kind: 'input' });
    expect(error.message).toContain('STILLCOUNT_VOICE_COMMAND');
  });

  it('lists the embedded voices as available everywhere', async () => {
    const voices = await listVoices({ environment: {} });
    expect(voices.map(({ id }) => id)).toEqual(['embedded:slt', 'embedded:rms', 'system', 'command']);
    expect(voices.filter(({ id }) => id.startsWith('embedded')).every(({ available }) => available)).toBe(
      true,
    );
  });
});
