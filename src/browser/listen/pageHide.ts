/**
 * Calls `act` whenever the page is hidden or left while a view is open, which is the last moment a phone guarantees. It
 * runs before unsent reports are sent for the last time.
 */
export function onPageHide(signal: AbortSignal, act: () => void): void {
  const first = { signal, capture: true };
  const ifHidden = () => {
    if (document.visibilityState === 'hidden') act();
  };
  document.addEventListener('visibilitychange', ifHidden, first);
  window.addEventListener('pagehide', act, first);
}
