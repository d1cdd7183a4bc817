import { createHash } from 'node:crypto';
import { readdir, readFile, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { LRUCache } from 'lru-cache';
import { renderSession } from '../audio/renderSession.js';
import { workError } from '../errors/stillcountError.js';
import { type CheckedFile, CheckedFiles } from '../files/checkedFiles.js';
import type { PrescribedProgram } from '../program/prescribed.js';
import type { TimedScript } from '../script/timedScript.js';
import type { SpeechClip } from '../voice/clipLibrary.js';
import type { FairSlots } from './fairSlots.js';
import { findSpokenScript, type ScriptedSession, withScript } from './makeSession.js';
import { findSpokenPrompt, withPrompt } from './promptScript.js';
import { haveLengths, readSums, type SessionSums, storeSession } from './sessionFolder.js';
import type { Workshop } from './workshop.js';
import { type SessionFileName, sessionFileNames } from './writeSession.js';

/** A finished session on disk. */
export type ShelvedSession = {
  durationMs: number;
  /** Length of its MP3 file. */
  byteLength: number;
  /**
   * Opens one of its files, which is guaranteed to contain exactly what was made: if it does not, the session is made
   * again first. The caller closes it.
   *
   * @throws StillcountError as {@link RenderedSessionStore.session}
   */
  open(name: SessionFileName): Promise<CheckedFile>;
  /** Reads one of its files. Errors as for `open`. */
  read(name: SessionFileName): Promise<Buffer>;
};

/** For whom a session is made. Listeners wait only for their own clinic, and its links take turns. */
export type Whose = { clinicId: string; linkId: string };

/** What to make and for whom; with a text, a single sentence. */
type Order = { whose: Whose; program: PrescribedProgram; text: string | null };
type Made = { key: string; folder: string; durationMs: number; sums: SessionSums };

const mostRemembered = 5_000;
const scriptName: SessionFileName = 'session.script.json';

/**
 * Stores finished sessions as files, so that any number of listeners uses no memory. All of them can be made again: the
 * folder may be pruned or deleted at any time, and a damaged session counts as missing. A session's name on disk
 * follows from its timed script and its sounds, so that a change of words, voice or rules never plays an old session. A
 * session that already exists is returned without the voice, the encoder or a wait for other work.
 */
export class RenderedSessionStore {
  readonly #workshop: Workshop;
  readonly #folder: string;
  readonly #slots: FairSlots;
  readonly #files = new CheckedFiles();
  /**
   * Sessions that this process is making or has made, by order and owner, so that nobody waits in someone else's turn.
   */
  readonly #known = new LRUCache<string, Promise<Made>>({ max: mostRemembered });
  readonly #beingWritten = new Set<{ folder: string }>();
  #clearing: Promise<unknown> = Promise.resolve();
  #isClosed = false;

  /** Lookups and renderings in progress; they may still produce files with a name that is being forgotten. */
  readonly #looking = new Set<Promise<Made>>();

  /**
   * @param folder the folder that holds the sessions
   * @param slots the slots in which sessions are made, with one lane per clinic
   */
  constructor(workshop: Workshop, folder: string, slots: FairSlots) {
    this.#workshop = workshop;
    this.#folder = folder;
    this.#slots = slots;
  }

  /**
   * Returns the session of a program, and makes it first if it does not exist.
   *
   * @throws StillcountError as `makeSession`, and when it cannot be written, or cannot be read back as it was written;
   *   also the slots' error for a caller with too much work waiting
   */
  session({ clinicId, linkId }: Whose, program: PrescribedProgram): Promise<ShelvedSession> {
    return this.#shelved({ whose: { clinicId, linkId }, program, text: null });
  }

  /** Returns one sentence in the voice of a program. Errors as for {@link session}. */
  prompt({ clinicId, linkId }: Whose, program: PrescribedProgram, text: string): Promise<ShelvedSession> {
    return this.#shelved({ whose: { clinicId, linkId }, program, text });
  }

  /**
   * Deletes every session and sentence that contains one of the wordings. Sessions of another person with the same name
   * are deleted too, and are made again when needed.
   *
   * @returns `now` settles when the existing ones are deleted. `later` settles when those that were being made
   *   meanwhile are deleted too, along with all clips and segments, because it is not known whose name those contain.
   *   Both reject when a file cannot be deleted.
   */
  forget(wordings: readonly string[]): { now: Promise<void>; later: Promise<void> } {
    const now = this.#removeWith(wordings, false);
    const later = Promise.allSettled([...this.#looking, this.#slots.settled(), now]).then(async () => {
      await this.#removeWith(wordings, true);
      await this.#workshop.clipCache.clear();
    });
    this.#clearing = Promise.allSettled([this.#clearing, later]);
    return { now, later };
  }

  /** Starts no new work; settles when the work in progress is done. */
  async close(): Promise<void> {
    this.#isClosed = true;
    await Promise.allSettled(this.#looking);
    await this.#slots.settled();
    await this.#clearing;
  }

  async #shelved(order: Order): Promise<ShelvedSession> {
    const { durationMs, sums } = await (await this.#made(order)).made;
    const open = (name: SessionFileName) => this.#open(order, name);
    return {
      durationMs,
      byteLength: sums['session.mp3'].bytes,
      open,
      async read(name) {
        const { handle } = await open(name);
        return handle.readFile().finally(() => handle.close());
      },
    };
  }

  async #open(order: Order, name: SessionFileName): Promise<CheckedFile> {
    for (let isAgain = false; ; isAgain = true) {
      const { key, made } = await this.#made(order);
      const { folder, sums } = await made;
      const file = await this.#files.open(join(folder, name), sums[name]);
      if (file !== null) return file;
      if (isAgain) {
        const message = 'the session that was made could not be read again as it was written';
        throw workError({ message, file: folder, hint: 'check the disk' });
      }
      // Another caller may have found the same fault and already started making the session again.
      if (this.#known.get(key) === made) this.#known.delete(key);
    }
  }

  /**
   * Returns a known session whose files have the right lengths, or one that is being made; otherwise finds it or makes
   * it.
   */
  async #made(order: Order): Promise<{ key: string; made: Promise<Made> }> {
    const key = keyOf(order);
    const pending = this.#known.get(key);
    if (pending !== undefined) {
      const { folder, sums } = await pending;
      if (await haveLengths(folder, sums)) return { key, made: pending };
      const meanwhile = this.#known.get(key);
      if (meanwhile !== undefined && meanwhile !== pending) return { key, made: meanwhile };
    }
    const made = this.#findOrMake(order);
    this.#known.set(key, made);
    this.#looking.add(made);
    const forgetIt = () => {
      if (this.#known.get(key) === made) this.#known.delete(key);
    };
    made.catch(forgetIt).finally(() => this.#looking.delete(made));
    return { key, made };
  }

  async #findOrMake(order: Order): Promise<Made> {
    const { whose, program, text } = order;
    const cached =
      text === null
        ? await findSpokenScript(program, this.#workshop)
        : await findSpokenPrompt(program, text, this.#workshop);
    const found = cached === null ? null : await this.#found(cached);
    const turn = { lane: `${whose.clinicId} listening`, who: whose.linkId };
    return found ?? this.#slots.run(turn, () => this.#make(order));
  }

  async #make({ program, text }: Order): Promise<Made> {
    if (this.#isClosed) throw workError({ message: 'the service is stopping' });
    await this.#workshop.segments.requireEncoder();
    const make = async (scripted: ScriptedSession) =>
      (await this.#found(scripted)) ?? (await this.#write(scripted));
    if (text === null) return withScript(program, this.#workshop, {}, make);
    return withPrompt(program, text, this.#workshop, make);
  }

  /** Returns the session if it is on disk with every byte as it was written, otherwise null. */
  async #found(scripted: ScriptedSession): Promise<Made | null> {
    const { key, folder } = this.#placeOf(scripted);
    const sums = await readSums(folder, key);
    if (sums === null) return null;
    for (const name of sessionFileNames) {
      const file = await this.#files.open(join(folder, name), sums[name]);
      if (file === null) return null;
      await file.handle.close();
    }
    return { key, folder, durationMs: scripted.script.durationMs, sums };
  }

  async #write({ script, clips }: ScriptedSession): Promise<Made> {
    const { key, folder } = this.#placeOf({ script, clips });
    const audio = await renderSession(script, clips, this.#workshop.segments);
    const place = { folder };
    this.#beingWritten.add(place);
    try {
      const sums = await storeSession({ script, audio }, folder, key);
      return { key, folder, durationMs: script.durationMs, sums };
    } finally {
      this.#beingWritten.delete(place);
    }
  }

  #placeOf({ script, clips }: Pick<ScriptedSession, 'script' | 'clips'>): { key: string; folder: string } {
    const key = keyOfScript(script, clips);
    return { key, folder: join(this.#folder, key.slice(0, 2), key) };
  }

  /**
   * @param alsoBroken also deletes sessions that cannot be played, because it is not known whose they are
   */
  async #removeWith(wordings: readonly string[], alsoBroken: boolean): Promise<void> {
    const wanted = wordings.map(saidAsWords);
    for (const group of await readdir(this.#folder).catch(() => [])) {
      for (const key of await readdir(join(this.#folder, group)).catch(() => [])) {
        const folder = join(this.#folder, group, key);
        const script = await readFile(join(folder, scriptName), 'utf8').catch(() => '');
        const isSaid = wanted.some((wording) => wording.test(script));
        if (isSaid || (alsoBroken && (await this.#isBroken(folder, key)))) {
          await rm(folder, { recursive: true, force: true });
        }
      }
    }
  }

  async #isBroken(folder: string, key: string): Promise<boolean> {
    const sums = await readSums(folder, key);
    const script = sums === null ? null : await this.#files.read(join(folder, scriptName), sums[scriptName]);
    return script === null && ![...this.#beingWritten].some((each) => each.folder === folder);
  }
}

function keyOf({ whose, program, text }: Order): string {
  const { file: _file, catalogue, ...spokenParts } = program;
  return createHash('sha256')
    .update(JSON.stringify([whose, text, spokenParts, catalogue.phrases]))
    .digest('hex');
}

function keyOfScript(script: TimedScript, clips: ReadonlyMap<string, SpeechClip>): string {
  const sounds = [...clips].map(([text, clip]) => [text, clip.key]).sort();
  return createHash('sha256')
    .update(JSON.stringify([script, sounds]))
    .digest('hex');
}

/** Returns a pattern that finds a wording in JSON where it is not part of a longer word. */
function saidAsWords(wording: string): RegExp {
  const text = JSON.stringify(wording)
    .slice(1, -1)
    .replace(/[.*+?^${}()|[\]\\]/g, '\\$&');
  return new RegExp(`(?<![\\p{L}\\p{N}])${text}(?![\\p{L}\\p{N}])`, 'iu');
}
