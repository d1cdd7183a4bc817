import { createHash } from 'node:crypto';
import { access } from 'node:fs/promises';
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
