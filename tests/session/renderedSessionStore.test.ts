import { createHash } from 'node:crypto';
import { link, mkdir, mkdtemp, readdir, readFile, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { SegmentStore } from '../../src/audio/segmentStore.js';
import type { PrescribedProgram } from '../../src/program/prescribed.js';
import { readProgramFile } from '../../src/session/readProgramFile.js';
import { RenderedSessionStore, type ShelvedSession } from '../../src/session/renderedSessionStore.js';
import { openSoundSlots } from '../../src/session/soundSlots.js';
import { openWorkshop, type Workshop } from '../../src/session/workshop.js';
import { sessionFileNames } from '../../src/session/writeSession.js';
import { KnownClips } from '../../src/voice/clipLibrary.js';
import { damage, damages } from '../damage.js';
import { lendSpoken } from '../support/spokenCache.js';

/** Sentences rather than sessions: the same files, and made in no time. */
const [said, other] = ['Your session can go on. You may take your time.', 'Stop here. Stay lying down.'];

let dataFolder: string;
let workshop: Workshop;
let program: PrescribedProgram;
beforeAll(async () => {
  dataFolder = await mkdtemp(join(tmpdir(), 'stillcount-shelf-'));
  lendSpoken(dataFolder);
  workshop = await openWorkshop({ dataFolder, templatesFolder: 'audio-templates' });
  program = await readProgramFile('audio-templates/en/programs/first.yaml', workshop);
});
afterAll(() => rm(dataFolder, { recursive: true, force: true }));

/** Whose link asks. */
const rosas = { clinicId: 'clinic', linkId: 'link' };

const shelfFolder = () => join(dataFolder, 'cache', 'sessions');

/** A shelf as a process that has just started has it. */
function newShelf(): RenderedSessionStore {
  const knownClips = new KnownClips();
  const segments = new SegmentStore(workshop.clipCache);
  return new RenderedSessionStore(
    { ...workshop, knownClips, segments },
    shelfFolder(),
    openSoundSlots({ tooMuch: () => new Error('too much') }),
  );
}

const hashOf = (bytes: Buffer) => createHash('sha256').update(bytes).digest('hex');

/** Of every byte of its files: to compare those one by one takes a second. */
async function filesOf(session: ShelvedSession): Promise<string[]> {
  return Promise.all(sessionFileNames.map(async (name) => hashOf(await session.read(name))));
}

/** The folder of the session in which a text is said. */
async function folderOf(text: string): Promise<string> {
  const names = await readdir(shelfFolder(), { recursive: true });
  for (const name of names.filter((each) => each.endsWith('session.txt'))) {
    const path = join(shelfFolder(), name);
    if ((await readFile(path, 'utf8')).includes(text)) return join(path, '..');
  }
  throw new Error(`nothing says ${text}`);
}

/** The clips and pieces of sound that were kept since; what others have spoken is shared with them. */
async function newEntries(sinceMs: number): Promise<string[]> {
  const entries = await readdir(join(dataFolder, 'cache'), { recursive: true, withFileTypes: true });
  const paths = entries
    .filter((entry) => entry.isFile() && !entry.parentPath.startsWith(shelfFolder()))
    .map((entry) => join(entry.parentPath, entry.name));
  const times = await Promise.all(paths.map(async (path) => (await stat(path)).mtimeMs));
  return paths.filter((_, index) => (times[index] ?? 0) >= sinceMs);
}

describe('a session that is kept', () => {
  it('is given as it was made, or made again, whatever became of any of its files', async () => {
    const first = newShelf();
    const whole = await filesOf(await first.prompt(rosas, program, said));
    const others = await filesOf(await first.prompt(rosas, program, other));
    const [folder, otherFolder] = [await folderOf(said), await folderOf(other)];
    const names = [...sessionFileNames, 'session.sums.json'];
    for (const name of names) {
      const replacement = await readFile(join(otherFolder, name));
      for (const each of damages) {
        const what = `${name} ${each.name}`;
        await damage(join(folder, name), each, replacement);
        const known = await first.prompt(rosas, program, said);
        expect(await filesOf(known), `${what}, known to the process`).toEqual(whole);
        await damage(join(folder, name), each, replacement);
        const found = await newShelf().prompt(rosas, program, said);
        expect(await filesOf(found), `${what}, at a start`).toEqual(whole);
      }
    }
    expect(others, 'the control: it is another').not.toEqual(whole);
  });

  it('is not another whole one that stands in its place', async () => {
    const whole = await filesOf(await newShelf().prompt(rosas, program, said));
    await newShelf().prompt(rosas, program, other);
    const [folder, otherFolder] = [await folderOf(said), await folderOf(other)];
    await rm(folder, { recursive: true });
    await mkdir(folder);
    for (const name of await readdir(otherFolder)) await link(join(otherFolder, name), join(folder, name));
    expect(await filesOf(await newShelf().prompt(rosas, program, said))).toEqual(whole);
  });

  it('that changes between being asked for and being opened is made again by whoever notices first', async () => {
    const shelf = newShelf();
    const session = await shelf.prompt(rosas, program, said);
    const whole = await filesOf(session);
    for (const each of damages) {
      await damage(join(await folderOf(said), 'session.mp3'), each, Buffer.from('another'));
      const readers = Array.from({ length: 5 }, () => session.read('session.mp3'));
      for (const bytes of await Promise.all(readers)) expect(hashOf(bytes), each.name).toBe(whole[0]);
    }
  });

  it('needs no encoder, and says plainly when one that is damaged would need it', async () => {
    const shelf = newShelf();
    const whole = await filesOf(await shelf.prompt(rosas, program, said));
    vi.stubEnv('STILLCOUNT_FFMPEG', '/nowhere/ffmpeg');
    try {
      const started = newShelf();
      expect(await filesOf(await started.prompt(rosas, program, said))).toEqual(whole);
      const before = await readdir(join(dataFolder, 'cache'), { recursive: true });
      await expect(started.prompt(rosas, program, 'Never said before.')).rejects.toThrow('it is not there');
      const after = await readdir(join(dataFolder, 'cache'), { recursive: true });
      expect(after, 'nothing was spoken in vain').toEqual(before);
      await rm(join(await folderOf(said), 'session.mp3'));
      await expect(started.prompt(rosas, program, said)).rejects.toThrow(
        'the encoder /nowhere/ffmpeg cannot be used: it is not there',
      );
    } finally {
      vi.unstubAllEnvs();
    }
  });
});

describe('what sessions are made of', () => {
  it('is made again, to the same bytes, whatever became of it', async () => {
    const own = ['This is of this test only.', 'And so is this.'] as const;
    const fromMs = Date.now() - 1;
    const shelf = newShelf();
    const whole = await filesOf(await shelf.prompt(rosas, program, own[0]));
    await shelf.prompt(rosas, program, own[1]);
    // How each single entry is refused, in every way, stands in the tests of the cache.
    const [changed, folder] = ['changed in one byte in its middle', 'a folder'].map((name) =>
      damages.find((each) => each.name === name),
    );
    // The process remembers how long its clips are; one that starts finds out.
    for (const [each, again] of [
      [changed, shelf],
      [folder, newShelf()],
    ] as const) {
      const entries = await newEntries(fromMs);
      expect(entries.length, 'clips and pieces of sound').toBeGreaterThanOrEqual(2);
      if (each === undefined) return expect.unreachable();
      for (const path of entries) await damage(path, each, Buffer.alloc(0));
      await rm(await folderOf(own[0]), { recursive: true });
      expect(await filesOf(await again.prompt(rosas, program, own[0])), each.name).toEqual(whole);
    }
  });
});

describe('an erasure', () => {
  it('waits for what is still being looked for, and takes it away once it is made', async () => {
    const name = 'This was of somebody who is erased.';
    const shelf = newShelf();
    const asked = shelf.prompt(rosas, program, name);
    // It has no slot yet: whoever waited for those alone would be done before it is written.
    const { now, later } = shelf.forget([name]);
    await now;
    await expect(later).resolves.toBeUndefined();
    await asked;
    await expect(folderOf(name)).rejects.toThrow('nothing says');
    const script = (await filesOf(await newShelf().prompt(rosas, program, name)))[0];
    expect(script, 'whoever asks for it again has it made').toMatch(/^[0-9a-f]{64}$/);
  });

  it('lets the shelf close only when that is done', async () => {
    const name = 'This was of somebody else who is erased.';
    const shelf = newShelf();
    const asked = shelf.prompt(rosas, program, name).catch(() => null);
    shelf.forget([name]);
    await shelf.close();
    await asked;
    await expect(folderOf(name)).rejects.toThrow('nothing says');
  });
});
