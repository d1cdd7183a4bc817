/** Dragging is for the mouse; the buttons "Up" and "Down" do the same for everyone. */
export function letRowsBeDragged(area: HTMLElement, act: (action: string) => void): void {
  let from: number | null = null;
  const rowIndex = (event: Event) => {
    const row = event.target instanceof Element ? event.target.closest('[data-row]') : null;
    return row === null ? null : [...area.querySelectorAll('[data-row]')].indexOf(row);
  };
  area.addEventListener('dragstart', (event) => {
    from = rowIndex(event);
  });
  area.addEventListener('dragover', (event) => {
    if (from !== null && rowIndex(event) !== null) event.preventDefault();
  });
  area.addEventListener('drop', (event) => {
    const to = rowIndex(event);
    if (from !== null && to !== null && from !== to) act(`move:${from}:${to}`);
    from = null;
    event.preventDefault();
  });
}
