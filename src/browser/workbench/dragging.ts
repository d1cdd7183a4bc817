/**
 * Lets rows be dragged with the mouse; the buttons "Up" and "Down" do the same for everyone. Only the handle can be
 * dragged, because text in the fields of a row that is draggable as a whole could not be selected.
 */
export function enableRowDragging(area: HTMLElement, act: (action: string) => void): void {
  let from: number | null = null;
  const rowOf = (event: Event) =>
    event.target instanceof Element ? event.target.closest('[data-row]') : null;
  const rowIndex = (event: Event) => {
    const row = rowOf(event);
    return row === null ? null : [...area.querySelectorAll('[data-row]')].indexOf(row);
  };
  area.addEventListener('dragstart', (event) => {
    from = rowIndex(event);
    const row = rowOf(event);
    if (row === null || event.dataTransfer === null) return;
    // Some browsers do not start a drag without data.
    event.dataTransfer.setData('text/plain', String(from));
    event.dataTransfer.setDragImage(row, 0, 0);
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
  area.addEventListener('dragend', () => {
    from = null;
  });
}
