/** The one element that the page's template is known to have. @throws RangeError when it has not */
export function requireElement<Kind extends HTMLElement = HTMLElement>(
  area: ParentNode,
  selector: string,
): Kind {
  const found = area.querySelector<Kind>(selector);
  if (found === null) throw new RangeError(`the page has no ${selector}`);
  return found;
}

/** Puts words where the template names a place for them; an empty text leaves the place out. */
export function writeText(area: ParentNode, place: string, text: string): void {
  for (const element of area.querySelectorAll<HTMLElement>(`[data-text="${place}"]`)) {
    if (element.textContent !== text) element.textContent = text;
    element.hidden = text === '';
  }
}

/** A copy of what a template holds. */
export function copyOf(id: string): HTMLElement {
  const template = requireElement<HTMLTemplateElement>(document, `template#${id}`);
  const [first] = template.content.children;
  if (!(first instanceof HTMLElement)) throw new RangeError(`template ${id} is empty`);
  return document.importNode(first, true);
}

/** Calls something at each press of a button, as long as a view is open. */
export function onPress(area: ParentNode, selector: string, signal: AbortSignal, act: () => void): void {
  for (const button of area.querySelectorAll<HTMLElement>(selector))
    button.addEventListener('click', act, { signal });
}
