import type { PlayedSession } from '../../listening/plan.js';

export type MediaActions = {
  play(): void;
  pause(): void;
  previous(): void;
  next(): void;
  seek(toMs: number): void;
};

/**
 * Headset, keyboard and lock-screen controls, by the W3C Media Session standard. They offer no seek by seconds, because
 * it would land in the middle of a count.
 */
export class MediaControls {
  readonly #session = 'mediaSession' in navigator ? navigator.mediaSession : null;

  /** Connects the controls to something that can be played; null disconnects them. */
  give(actions: MediaActions | null): void {
    this.#handle('play', actions?.play);
    this.#handle('pause', actions?.pause);
    // A listener who stops there may want to resume from there.
    this.#handle('stop', actions?.pause);
    this.#handle('previoustrack', actions?.previous);
    this.#handle('nexttrack', actions?.next);
    this.#handle('seekto', actions && (({ seekTime }) => actions.seek((seekTime ?? 0) * 1000)));
    if (actions === null) this.tellState('none');
  }

  describe({ title, session, clinic }: { title: string; session: string; clinic: string }): void {
    if (this.#session === null) return;
    this.#session.metadata = new MediaMetadata({ title, artist: session, album: clinic });
  }

  tellState(state: MediaSessionPlaybackState): void {
    if (this.#session !== null) this.#session.playbackState = state;
  }

  tellPosition({ durationMs }: PlayedSession, positionMs: number): void {
    const [duration, position] = [durationMs / 1000, Math.min(positionMs, durationMs) / 1000];
    this.#session?.setPositionState?.({ duration, position, playbackRate: 1 });
  }

  #handle(action: MediaSessionAction, handler: MediaSessionActionHandler | null | undefined): void {
    try {
      this.#session?.setActionHandler(action, handler ?? null);
    } catch {
      // An older browser does not support this action.
    }
  }
}
