const mostStates = 100;

/** Sets up undo and redo over whole states of a form, with buttons and the usual keys. */
export function openHistory(
  form: HTMLFormElement,
  restore: (state: URLSearchParams) => void,
): { remember(state: URLSearchParams): void } {
  let states: string[] = [];
  let at = -1;
  const undo = form.querySelector<HTMLButtonElement>('[data-undo]');
  const redo = form.querySelector<HTMLButtonElement>('[data-redo]');

  function mark(): void {
    if (undo !== null) undo.disabled = at <= 0;
    if (redo !== null) redo.disabled = at >= states.length - 1;
  }
  function go(to: number): void {
    const state = states[to];
    if (state === undefined) return;
    at = to;
    mark();
    restore(new URLSearchParams(state));
  }

  undo?.removeAttribute('hidden');
  redo?.removeAttribute('hidden');
  undo?.addEventListener('click', () => go(at - 1));
  redo?.addEventListener('click', () => go(at + 1));
  form.addEventListener('keydown', (event) => {
    const typing = event.target instanceof HTMLInputElement && event.target.type === 'text';
    if (!(event.ctrlKey || event.metaKey) || typing) return;
    const key = event.key.toLowerCase();
    if (key !== 'z' && key !== 'y') return;
    event.preventDefault();
    go(key === 'y' || event.shiftKey ? at + 1 : at - 1);
  });
  return {
    remember(state) {
      const text = state.toString();
      if (text === states[at]) return;
      states = [...states.slice(0, at + 1), text].slice(-mostStates);
      at = states.length - 1;
      mark();
    },
  };
}
