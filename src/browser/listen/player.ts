import type { PlayedSession, PromptKey } from '../../listening/plan.js';
import type { ListeningStep } from '../../listening/report.js';
import { isKnown } from './knownSound.js';
import { chapterAt, nextChapterMs, planResume, previousChapterMs, safePointAt } from './resume.js';

/**
 * `starting`: waiting for the sound, or for a sentence before it. `trouble`: the sound is lost, waiting for a touch.
 */
export type PlayerState = 'ready' | 'starting' | 'playing' | 'paused' | 'trouble' | 'ended';

export type PlayerEvents = {
  onState(state: PlayerState): void;
  /** Called with an event and its position in the session. */
  onStep(step: ListeningStep, positionMs: number): void;
  /** Called several times a second while it plays. */
  onPosition(positionMs: number): void;
  /** Speaks a sentence; resolves when it is over. */
  say(key: PromptKey): Promise<unknown>;
  /** Called when the sound has not arrived for a while, but still may. */
  onWaiting(): void;
  /** Called when the sound is lost, so that the listener is told, and why. */
  onLost(): void;
};

export type PlayerStart = {
  audio: string;
  played: PlayedSession;
  /** Where to resume, or null to start from the beginning. */
  leftAtMs: number | null;
};

const watchEveryMs = 1_000;
/** Checks to wait for the start, because a session may have to be spoken first. */
const looksToStart = 45;
/**
 * After this many checks, and every time as many more have passed, the listener is told that the sound is on its way.
 */
const looksUntilSaid = 8;
/**
 * Sound that stands still for more checks than this is lost. Checks are counted, not time, because a phone may sleep.
 * This is no longer than a long pause, because a count must not continue in its middle after one.
 */
const looksAtMost = 4;
const reachedEveryMs = 60_000;
/** A file that ends this much before its session does was cut off in transit. */
const cutOffMs = 5_000;

/** Plays one session. All controls (touch, key, headset, lock screen) act through it. */
export class Player {
  readonly #sound: HTMLAudioElement;
  #events: PlayerEvents | null = null;
  #start: PlayerStart | null = null;
  #state: PlayerState = 'ready';
  #positionMs = 0;
  /** The step to report once the sound is actually playing. */
  #owed: 'started' | 'resumed' | null = null;
  #pausedAt: { clockMs: number; runningMs: number } | null = null;
  /** Distinguishes one attempt to play from the next, while a sentence is being spoken. */
  #attempt = 0;
  #isSaying = false;
  /** How many checks in a row found the sound at the same position. */
  #stillLooks = 0;
  #report = { chapter: 0, atMs: 0 };

  constructor(sound: HTMLAudioElement) {
    this.#sound = sound;
    sound.addEventListener('playing', () => this.#heard());
    sound.addEventListener('seeked', () => this.#heard());
    sound.addEventListener('timeupdate', () => this.#moved());
    sound.addEventListener('pause', () => this.#stoppedByOthers());
    sound.addEventListener('play', () => this.#startedByOthers());
    sound.addEventListener('ended', () => this.#ended());
    sound.addEventListener('error', () => this.#lost());
    setInterval(() => this.#watch(), watchEveryMs);
  }

  get state(): PlayerState {
    return this.#state;
  }

  get positionMs(): number {
    return this.#positionMs;
  }

  /** Starts to load the sound of a session that will be opened soon. */
  prepare(audio: string): void {
    if (this.#sound.getAttribute('src') === audio) return;
    this.#sound.preload = 'auto';
    this.#sound.src = audio;
  }

  /** Loads the sound; nothing is heard yet. While handling a touch it also unlocks the sound for later. */
  open(start: PlayerStart, events: PlayerEvents): void {
    this.#start = start;
    this.#events = events;
    this.#positionMs = start.leftAtMs ?? 0;
    this.#owed = start.leftAtMs === null ? 'started' : 'resumed';
    this.#report = { chapter: chapterAt(start.played.chapters, this.#positionMs), atMs: performance.now() };
    this.prepare(start.audio);
    this.#unlock();
    this.#enter('ready');
  }

  /** Releases the session, after its events have been reported. */
  close(): void {
    this.#attempt += 1;
    this.#events = null;
    this.#start = null;
    this.#pausedAt = null;
    this.#state = 'ready';
    this.#sound.pause();
    this.#sound.removeAttribute('src');
  }

  /** Handles the one touch: pauses while playing, resumes while paused. */
  toggle(): void {
    if (this.#state === 'playing' || this.#state === 'starting') this.pause();
    else this.goOn();
  }

  pause(): void {
    if (this.#state !== 'playing' && this.#state !== 'starting') return;
    this.#attempt += 1;
    this.#stand('paused');
  }

  /** Resumes at the right position after the pause. */
  async goOn(): Promise<void> {
    const played = this.#start?.played;
    if (played === undefined || this.#state === 'playing' || this.#state === 'ended') return;
    const pausedForMs = this.#state === 'paused' ? this.#sincePauseMs() : null;
    const isUnheard = this.#owed === 'started';
    const { fromMs, say } = isUnheard
      ? { fromMs: 0, say: null }
      : planResume(pausedForMs, { resumePointsMs: played.resumePointsMs, positionMs: this.#positionMs });
    await this.#playFrom(fromMs, say);
  }

  /** Skips to the next exercise; does nothing in the last one. */
  next(): void {
    const chapters = this.#start?.played.chapters;
    const toMs = chapters === undefined ? null : nextChapterMs(chapters, this.#positionMs);
    if (toMs !== null) this.#jump(toMs);
  }

  previous(): void {
    const chapters = this.#start?.played.chapters;
    if (chapters !== undefined) this.#jump(previousChapterMs(chapters, this.#positionMs));
  }

  /** Goes to the last resume point at or before a position. */
  seek(toMs: number): void {
    const points = this.#start?.played.resumePointsMs;
    if (points !== undefined) this.#jump(safePointAt(points, toMs));
  }

  /** Reports the position, before the page is left. */
  tellReached(): void {
    if (this.#state === 'playing') this.#events?.onStep('reached', this.#positionMs);
  }

  #jump(toMs: number): void {
    if (this.#state === 'ended') return;
    if (this.#state === 'playing') this.#events?.onStep('paused', this.#positionMs);
    this.#playFrom(toMs, null);
  }

  async #playFrom(fromMs: number, say: PromptKey | null): Promise<void> {
    const wasLost = this.#state === 'trouble';
    this.#attempt += 1;
    const attempt = this.#attempt;
    this.#enter('starting');
    this.#owed ??= 'resumed';
    this.#stillLooks = 0;
    if (wasLost || this.#sound.error !== null) this.#sound.load();
    if (say !== null) {
      this.#sound.pause();
      this.#isSaying = true;
      await this.#events?.say(say);
      this.#isSaying = false;
    }
    if (attempt !== this.#attempt) return;
    this.#positionMs = fromMs;
    this.#stillLooks = 0;
    if (this.#sound.readyState === HTMLMediaElement.HAVE_NOTHING) {
      if (!(await isKnown(this.#sound))) return;
      if (attempt !== this.#attempt) return;
    }
    if (Math.abs(this.#sound.currentTime * 1000 - fromMs) > 1) this.#sound.currentTime = fromMs / 1000;
    try {
      await this.#sound.play();
      // If it is already playing at the right position, the browser sends no further event.
      this.#heard();
    } catch (error) {
      const isOurs = error instanceof DOMException && error.name === 'AbortError';
      if (!isOurs && attempt === this.#attempt) this.#lose();
    }
  }

  /** Handles sound that is actually playing; only now has the session started. */
  #heard(): void {
    if (this.#state !== 'starting' || this.#sound.paused || this.#sound.seeking) return;
    this.#stillLooks = 0;
    this.#enter('playing');
    this.#events?.onPosition(this.#positionMs);
    const owed = this.#owed;
    this.#owed = null;
    if (owed === null) return;
    this.#report = { chapter: this.#chapter(), atMs: performance.now() };
    this.#events?.onStep(owed, Math.round(this.#positionMs));
  }

  #moved(): void {
    if (this.#state !== 'playing' || this.#sound.seeking) return;
    const positionMs = Math.round(this.#sound.currentTime * 1000);
    if (positionMs !== this.#positionMs) this.#stillLooks = 0;
    this.#positionMs = positionMs;
    this.#events?.onPosition(positionMs);
    const chapter = this.#chapter();
    if (chapter === this.#report.chapter && performance.now() - this.#report.atMs < reachedEveryMs) return;
    this.#report = { chapter, atMs: performance.now() };
    this.#events?.onStep('reached', positionMs);
  }

  #chapter(): number {
    return chapterAt(this.#start?.played.chapters ?? [], this.#positionMs);
  }

  /** Handles a pause by a phone call, by another sound or by taking off a headset. */
  #stoppedByOthers(): void {
    if (this.#state === 'playing' && this.#sound.paused && !this.#sound.ended) this.#stand('paused');
  }

  /** Handles sound that the phone starts by itself, perhaps after a long pause: it resumes the way a touch would. */
  #startedByOthers(): void {
    if (this.#state !== 'paused' || this.#sound.paused) return;
    this.#sound.pause();
    this.goOn();
  }

  #ended(): void {
    const start = this.#start;
    if (start === null || this.#state !== 'playing') return;
    this.#positionMs = Math.round(this.#sound.currentTime * 1000);
    if (this.#positionMs < start.played.durationMs - cutOffMs) this.#lose();
    else {
      this.#events?.onStep('finished', start.played.durationMs);
      this.#enter('ended');
    }
  }

  #lost(): void {
    if (this.#state === 'playing' || this.#state === 'starting') this.#lose();
  }

  #watch(): void {
    const isWaiting = this.#state === 'playing' || this.#state === 'starting';
    // While a sentence is being spoken, the session's sound is paused, as it should be.
    if (!isWaiting || this.#isSaying) return;
    this.#stillLooks += 1;
    if (this.#state === 'starting' && this.#stillLooks % looksUntilSaid === 0) this.#events?.onWaiting();
    if (this.#stillLooks > (this.#state === 'starting' ? looksToStart : looksAtMost)) this.#lose();
  }

  #lose(): void {
    this.#attempt += 1;
    this.#stand('trouble');
    this.#events?.onLost();
  }

  #stand(state: 'paused' | 'trouble'): void {
    const wasHeard = this.#state === 'playing';
    this.#pausedAt ??= { clockMs: Date.now(), runningMs: performance.now() };
    if (wasHeard && state === 'paused') this.#positionMs = Math.round(this.#sound.currentTime * 1000);
    this.#enter(state);
    this.#sound.pause();
    if (wasHeard) this.#events?.onStep('paused', this.#positionMs);
  }

  /**
   * Returns the longer of two clocks' readings, because one clock may be set back and the other may stop while the
   * phone sleeps.
   */
  #sincePauseMs(): number | null {
    if (this.#pausedAt === null) return null;
    const { clockMs, runningMs } = this.#pausedAt;
    return Math.max(Date.now() - clockMs, performance.now() - runningMs);
  }

  #enter(state: PlayerState): void {
    if (state === 'playing') this.#pausedAt = null;
    if (state === this.#state && state !== 'ready') return;
    this.#state = state;
    this.#events?.onState(state);
  }

  /** Unlocks the sound: some phones let a page later play only sound that was started once while handling a touch. */
  #unlock(): void {
    this.#sound.muted = true;
    this.#sound.play().catch(() => undefined);
    this.#sound.pause();
    this.#sound.muted = false;
  }
}
