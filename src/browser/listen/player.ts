import type { PlayedSession, PromptKey } from '../../listening/plan.js';
import type { ListeningStep } from '../../listening/report.js';
import { isKnown } from './knownSound.js';
import { chapterAt, nextChapterMs, planResume, previousChapterMs, safePointAt } from './resume.js';

/**
 * `starting` waits for the sound, or for a sentence that comes before it; `trouble` has lost the sound and waits for
 * a touch.
 */
export type PlayerState = 'ready' | 'starting' | 'playing' | 'paused' | 'trouble' | 'ended';

export type PlayerEvents = {
  onState(state: PlayerState): void;
  /** What happened, and where in the session. */
  onStep(step: ListeningStep, positionMs: number): void;
  /** Several times a second while it plays. */
  onPosition(positionMs: number): void;
  /** Says a sentence; resolves when it is over. */
  say(key: PromptKey): Promise<unknown>;
  /** The sound has not come for a while, and may still. */
  onWaiting(): void;
  /** The sound is lost: it has to be said, and why. */
  onLost(): void;
};

export type PlayerStart = {
  audio: string;
  played: PlayedSession;
  /** Where it goes on, or null to begin at the beginning. */
  leftAtMs: number | null;
};

const watchEveryMs = 1_000;
/** A session may have to be spoken first. */
const looksToStart = 45;
/** From then on it is said that the sound is on its way, and again as often. */
const looksUntilSaid = 8;
/**
 * Sound that is found standing still more often has been lost. Looks are counted, not time: a phone may sleep. It is
 * no more than what counts as a long pause: a count must not go on in its middle after one.
 */
const looksAtMost = 4;
const reachedEveryMs = 60_000;
/** A file that ends this much before its session does was cut off on the way. */
const cutOffMs = 5_000;

/** Plays one session. Every way to control it (touch, key, headset, lock screen) comes together here. */
export class Player {
  readonly #sound: HTMLAudioElement;
  #events: PlayerEvents | null = null;
  #start: PlayerStart | null = null;
  #state: PlayerState = 'ready';
  #positionMs = 0;
  /** What is told once the sound is really heard. */
  #owed: 'started' | 'resumed' | null = null;
  #pausedAt: { clockMs: number; runningMs: number } | null = null;
  /** Tells one attempt to play from the next, while a sentence is being said. */
  #attempt = 0;
  #isSaying = false;
  /** How often the sound was found where it had been before. */
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

  /** Fetches the sound of a session that will be opened soon. */
  prepare(audio: string): void {
    if (this.#sound.getAttribute('src') === audio) return;
    this.#sound.preload = 'auto';
    this.#sound.src = audio;
  }

  /** Fetches the sound ahead; nothing is heard yet. Within a touch it also unlocks the sound for later. */
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

  /** Lets go of the session; what happened in it has been told. */
  close(): void {
    this.#attempt += 1;
    this.#events = null;
    this.#start = null;
    this.#pausedAt = null;
    this.#state = 'ready';
    this.#sound.pause();
    this.#sound.removeAttribute('src');
  }

  /** The one touch: stops what plays, goes on with what stands. */
  toggle(): void {
    if (this.#state === 'playing' || this.#state === 'starting') this.pause();
    else this.goOn();
  }

  pause(): void {
    if (this.#state !== 'playing' && this.#state !== 'starting') return;
    this.#attempt += 1;
    this.#stand('paused');
  }

  /** Goes on where it is right to go on. */
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

  /** The next exercise; in the last one, nothing. */
  next(): void {
    const chapters = this.#start?.played.chapters;
    const toMs = chapters === undefined ? null : nextChapterMs(chapters, this.#positionMs);
    if (toMs !== null) this.#jump(toMs);
  }

  previous(): void {
    const chapters = this.#start?.played.chapters;
    if (chapters !== undefined) this.#jump(previousChapterMs(chapters, this.#positionMs));
  }

  /** Goes to the last moment before another from which listening can go on. */
  seek(toMs: number): void {
    const points = this.#start?.played.resumePointsMs;
    if (points !== undefined) this.#jump(safePointAt(points, toMs));
  }

  /** Tells how far it has come, before the page is left. */
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
      // Where it played already and stood in the right place, the browser has nothing more to tell.
      this.#heard();
    } catch (error) {
      const isOurs = error instanceof DOMException && error.name === 'AbortError';
      if (!isOurs && attempt === this.#attempt) this.#lose();
    }
  }

  /** The sound is heard: only now has anything begun. */
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

  /** A call, another sound or a headset that was taken off. */
  #stoppedByOthers(): void {
    if (this.#state === 'playing' && this.#sound.paused && !this.#sound.ended) this.#stand('paused');
  }

  /** What the telephone starts by itself may have stood for long: it goes on the way a touch would have. */
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
    // While a sentence is being said the sound itself stands, as it should.
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

  /** The longer of what two clocks say: one may be set back, the other may stand while the phone sleeps. */
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

  /** Some phones let a page play later only what was begun once within a touch. */
  #unlock(): void {
    this.#sound.muted = true;
    this.#sound.play().catch(() => undefined);
    this.#sound.pause();
    this.#sound.muted = false;
  }
}
