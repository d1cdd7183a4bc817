/** Returns an element that the page's template must have. @throws RangeError when it does not */
export function requireElement<Kind extends HTMLElement = HTMLElement>(
  area: ParentNode,
  selector: string,
): Kind {
  const found = area.querySelector<Kind>(selector);
  if (found === null) throw new RangeError(`the page has no ${selector}`);
  return found;
}

/** Writes text to a named place in the template; empty text hides the place. */
export function writeText(area: ParentNode, place: string, text: string): void {
  for (const element of area.querySelectorAll<HTMLElement>(`[data-text="${place}"]`)) {
    if (element.textContent !== text) element.textContent = text;
    element.hidden = text === '';
  }
}

/** Returns a copy of a template's content. */
export function copyOf(id: string): HTMLElement {
  const template = requireElement<HTMLTemplateElement>(document, `template#${id}`);
  const [first] = template.content.children;
  if (!(first instanceof HTMLElement)) throw new RangeError(`template ${id} is empty`);
  return document.importNode(first, true);
}

/** Calls `act` at each press of a button while a view is open. */
export function onPress(area: ParentNode, selector: string, signal: AbortSignal, act: () => void): void {
  for (const button of area.querySelectorAll<HTMLElement>(selector))
    button.addEventListener('click', act, { signal });
}
