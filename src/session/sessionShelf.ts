import { createHash } from 'node:crypto';
import { access, readdir, readFile, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { LRUCache } from 'lru-cache';
import { renderSession } from '../audio/renderSession.js';
import { workError } from '../errors/stillcountError.js';
import type { PrescribedProgram } from '../program/prescribed.js';
import type { TimedScript } from '../script/timedScript.js';
import type { SpeechClip } from '../voice/clipLibrary.js';
import { makeScript } from './makeSession.js';
import { promptScript } from './promptScript.js';
import type { Workshop } from './workshop.js';
import { sessionFileNames, writeSession } from './writeSession.js';

/** A made session on the disk: its four files, as {@link writeSession} names them. */
export type ShelvedSession = {
  /** Names the bytes: the same key always means the same files. */
  key: string;
  folder: string;
  durationMs: number;
};

const mostRemembered = 5_000;
const scriptName = 'session.script.json' satisfies (typeof sessionFileNames)[number];

/**
 * Sessions that are listened to, as files, so that any number of listeners costs no memory. They can all be made
 * again: the folder may be pruned or deleted at any time. What a session is called on disk follows from its timed
 * script and its sounds, so that no change of words, voice or rules ever plays an old one.
 */
export class SessionShelf {
  readonly #workshop: Workshop;
  readonly #folder: string;
  /** What is being made or was made by this process, by program. */
  readonly #known = new LRUCache<string, Promise<ShelvedSession>>({ max: mostRemembered });
  /** One session at a time: each of them uses every processor already. */
  #last: Promise<unknown> = Promise.resolve();
  #isClosed = false;

  /** @param folder below which sessions are kept */
  constructor(workshop: Workshop, folder: string) {
    this.#workshop = workshop;
    this.#folder = folder;
  }

  /**
   * The session of a program, made now when it is not there.
   *
   * @throws StillcountError as `makeSession`, and when it cannot be written
   */
  session(program: PrescribedProgram): Promise<ShelvedSession> {
    return this.#remembered(keyOf(program, ''), () => this.#make(program, null));
  }

  /** One sentence in the voice of a program. Errors as for {@link session}. */
  prompt(program: PrescribedProgram, text: string): Promise<ShelvedSession> {
    return this.#remembered(keyOf(program, text), () => this.#make(program, text));
  }

  /**
   * Takes away every session and sentence in which one of some wordings is said. Whoever listens to another person of
   * that name has theirs made again.
   *
   * @returns `now` settles when those that are there are gone. `later` settles when what was being made meanwhile is gone
   *   too, and with it all clips and segments, which do not tell whose name is in them. Both reject when a file stays.
   */
  forget(wordings: readonly string[]): { now: Promise<void>; later: Promise<void> } {
    const now = removeWith(this.#folder, wordings, false);
    const later = Promise.allSettled([this.#last, now]).then(async () => {
      await removeWith(this.#folder, wordings, true);
      await this.#workshop.clipCache.clear();
    });
    this.#last = later.catch(() => undefined);
    return { now, later };
  }

  /** Makes nothing more; settles when what is being made is done. */
  async close(): Promise<void> {
    this.#isClosed = true;
    await this.#last;
  }

  async #remembered(key: string, make: () => Promise<ShelvedSession>): Promise<ShelvedSession> {
    const asked = this.#known.get(key);
    const known = await asked?.catch(() => undefined);
    if (known !== undefined && (await isComplete(known.folder))) return known;
    const meanwhile = this.#known.get(key);
    if (meanwhile !== undefined && meanwhile !== asked) return meanwhile;
    const made = this.#last.then(make);
    this.#last = made.catch(() => undefined);
    this.#known.set(key, made);
    made.catch(() => this.#known.delete(key));
    return made;
  }

  async #make(program: PrescribedProgram, text: string | null): Promise<ShelvedSession> {
    if (this.#isClosed) throw workError({ message: 'the service is stopping' });
    const scripted =
      text === null
        ? await makeScript(program, this.#workshop)
        : await promptScript(program, text, this.#workshop);
    const { script, clips } = scripted;
    const key = keyOfScript(script, clips);
    const folder = join(this.#folder, key.slice(0, 2), key);
    if (!(await isComplete(folder))) {
      const audio = await renderSession(script, clips, this.#workshop.segments);
      await writeSession({ ...scripted, audio }, folder, { durable: false });
    }
    return { key, folder, durationMs: script.durationMs };
  }
}

function keyOf({ file: _file, catalogue, ...said }: PrescribedProgram, text: string): string {
  return createHash('sha256')
    .update(JSON.stringify([text, said, catalogue.phrases]))
    .digest('hex');
}

function keyOfScript(script: TimedScript, clips: ReadonlyMap<string, SpeechClip>): string {
  const sounds = [...clips].map(([text, clip]) => [text, clip.key]).sort();
  return createHash('sha256')
    .update(JSON.stringify([script, sounds]))
    .digest('hex');
}

async function isComplete(folder: string): Promise<boolean> {
  const found = await Promise.allSettled(sessionFileNames.map((name) => access(join(folder, name))));
  return found.every(({ status }) => status === 'fulfilled');
}

/** @param alsoBroken takes away, too, what has no script: nothing is being made, so it never will */
async function removeWith(shelf: string, wordings: readonly string[], alsoBroken: boolean): Promise<void> {
  const wanted = wordings.map(saidAsWords);
  for (const group of await readdir(shelf).catch(() => [])) {
    for (const key of await readdir(join(shelf, group)).catch(() => [])) {
      const folder = join(shelf, group, key);
      const script = await readFile(join(folder, scriptName), 'utf8').catch(() => null);
      const goes = script === null ? alsoBroken : wanted.some((wording) => wording.test(script));
      if (goes) await rm(folder, { recursive: true, force: true });
    }
  }
}

/** Finds a wording in JSON where it is not a part of a longer word. */
function saidAsWords(wording: string): RegExp {
  const text = JSON.stringify(wording)
    .slice(1, -1)
    .replace(/[.*+?^${}()|[\]\\]/g, '\\$&');
  return new RegExp(`(?<![\\p{L}\\p{N}])${text}(?![\\p{L}\\p{N}])`, 'iu');
}
