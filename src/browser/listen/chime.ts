/** The notes of a soft call: two bell tones, a fifth apart, far quieter than the voice. */
const notesHz = [392, 587.33];
const noteSeconds = 2.2;
const betweenSeconds = 0.6;
const softest = 0.03;
const loudest = 0.12;

/** Plays a soft chime. Browsers let a page play sound by itself only after it has been touched once. */
export class Chime {
  #context: AudioContext | null = null;

  /** Whether the browser allows the chime to sound. */
  get isUnlocked(): boolean {
    return this.#context?.state === 'running';
  }

  /** Unlocks the sound. Call it while handling a touch. */
  async unlock(): Promise<void> {
    this.#context ??= new AudioContext();
    await this.#context.resume();
  }

  /**
   * Plays the chime.
   *
   * @param strength from 0, the softest, to 1
   */
  ring(strength: number): void {
    const context = this.#context;
    if (context === null) return;
    const peak = softest + (loudest - softest) * Math.min(1, Math.max(0, strength));
    notesHz.forEach((hz, index) => {
      const startsAt = context.currentTime + index * betweenSeconds;
      const [note, level] = [context.createOscillator(), context.createGain()];
      note.frequency.value = hz;
      level.gain.setValueAtTime(0, startsAt);
      level.gain.linearRampToValueAtTime(peak, startsAt + 0.08);
      level.gain.exponentialRampToValueAtTime(peak / 500, startsAt + noteSeconds);
      note.connect(level).connect(context.destination);
      note.start(startsAt);
      note.stop(startsAt + noteSeconds);
    });
  }
}
