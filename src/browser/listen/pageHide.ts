/**
 * Calls something whenever the page goes out of sight or away, as long as a view is open: the last moments that a
 * phone is sure to give. It comes before what is unsent goes out for the last time.
 */
export function onPageHide(signal: AbortSignal, act: () => void): void {
  const first = { signal, capture: true };
  const ifHidden = () => {
    if (document.visibilityState === 'hidden') act();
  };
  document.addEventListener('visibilitychange', ifHidden, first);
  window.addEventListener('pagehide', act, first);
}
