/** Returns a key that identifies an element after the page is rebuilt: its label, or else its field and value. */
function keyOf(element: Element): string | null {
  const label = element.getAttribute('aria-label');
  if (label !== null) return `label ${label}`;
  const name = element.getAttribute('name');
  if (name === null) return null;
  return element instanceof HTMLButtonElement ? `button ${name} ${element.value}` : `field ${name}`;
}

/** Returns the key of the focused element, or null. */
export function focusKey(): string | null {
  return document.activeElement === null ? null : keyOf(document.activeElement);
}

/** Returns the focus to the element with that key, unless something else has it. */
export function restoreFocus(area: HTMLElement, key: string | null): void {
  if (key === null || (document.activeElement !== null && document.activeElement !== document.body)) return;
  const same = [...area.querySelectorAll<HTMLElement>('[aria-label], [name]')].find(
    (element) => keyOf(element) === key,
  );
  same?.focus();
}
