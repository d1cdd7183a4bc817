/** What names an element over a rebuilding of the page: its label, else its field and value. */
function keyOf(element: Element): string | null {
  const label = element.getAttribute('aria-label');
  if (label !== null) return `label ${label}`;
  const name = element.getAttribute('name');
  if (name === null) return null;
  return element instanceof HTMLButtonElement ? `button ${name} ${element.value}` : `field ${name}`;
}

/** What names the element that has the focus, or null. */
export function focusKey(): string | null {
  return document.activeElement === null ? null : keyOf(document.activeElement);
}

/** Gives the focus back to the element of that name, unless something has it. */
export function restoreFocus(area: HTMLElement, key: string | null): void {
  if (key === null || (document.activeElement !== null && document.activeElement !== document.body)) return;
  const same = [...area.querySelectorAll<HTMLElement>('[aria-label], [name]')].find(
    (element) => keyOf(element) === key,
  );
  same?.focus();
}
