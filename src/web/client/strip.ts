/** A click on the strip plays from there, once the session can be heard. */
export function letStripSeek(form: HTMLElement): void {
  const strip = form.querySelector<SVGSVGElement>('svg.strip');
  const audio = form.querySelector<HTMLAudioElement>('[data-audio]');
  if (strip === null || audio === null) return;
  const left = Number(strip.dataset.left);
  const perSecond = Number(strip.dataset.pxPerSecond);
  strip.classList.add('can-play');
  strip.addEventListener('click', (event) => {
    const x = event.clientX - strip.getBoundingClientRect().left;
    audio.currentTime = Math.max(0, (x - left) / perSecond);
    audio.play();
  });
}
