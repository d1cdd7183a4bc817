const seekable = 'can-play';

/**
 * Makes a click on the strip play from that position.
 *
 * @param hearFrom renders the session first when there is no sound yet
 */
export function enableStripSeek(form: HTMLElement, hearFrom: (seconds: number) => void): void {
  const strip = form.querySelector<SVGSVGElement>('svg.strip');
  if (strip === null || strip.classList.contains(seekable)) return;
  const left = Number(strip.dataset.left);
  const perSecond = Number(strip.dataset.pxPerSecond);
  strip.classList.add(seekable);
  strip.addEventListener('click', (event) => {
    const x = event.clientX - strip.getBoundingClientRect().left;
    const seconds = Math.max(0, (x - left) / perSecond);
    const audio = form.querySelector<HTMLAudioElement>('[data-audio]');
    if (audio === null) return hearFrom(seconds);
    audio.currentTime = seconds;
    audio.play();
  });
}
