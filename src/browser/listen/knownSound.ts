/** Whether the beginning of a sound came, once that is decided; a position in it can be set only then. */
export function isKnown(sound: HTMLAudioElement): Promise<boolean> {
  return new Promise((resolve) => {
    const decided = new AbortController();
    const { signal } = decided;
    const decide = (isKnown: boolean) => () => {
      decided.abort();
      resolve(isKnown);
    };
    sound.addEventListener('loadedmetadata', decide(true), { signal });
    sound.addEventListener('error', decide(false), { signal });
  });
}
