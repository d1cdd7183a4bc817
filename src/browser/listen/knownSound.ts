/** Resolves to whether the beginning of a sound has loaded; only then can a position in it be set. */
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
