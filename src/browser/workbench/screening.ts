/** The answers by key. */
const answerKeys: Readonly<Record<string, string>> = { y: 'yes', n: 'no', u: 'unsure' };

/**
 * Lets Y, N and U answer the focused question and move to the next open one, and updates the progress count. The
 * service does everything else.
 */
export function startScreening(form: HTMLFormElement): void {
  form.addEventListener('change', () => countAnswers(form));
  form.addEventListener('keydown', (event) => {
    const { target } = event;
    const wanted = answerKeys[event.key.toLowerCase()];
    const isOther = event.ctrlKey || event.metaKey || event.altKey || event.repeat;
    if (wanted === undefined || isOther || !(target instanceof HTMLInputElement)) return;
    if (target.type !== 'radio') return;
    event.preventDefault();
    const question = target.closest('fieldset');
    const choice = question?.querySelector<HTMLInputElement>(`input[type=radio][value=${wanted}]`);
    if (choice == null) return;
    choice.checked = true;
    choice.dispatchEvent(new Event('change', { bubbles: true }));
    // A yes asks for details first, so the focus stays.
    (wanted === 'no' ? nextOpen(form, choice) : choice).focus();
  });
}

/** Returns the control of the next unanswered question, or what comes after the last one. */
function nextOpen(form: HTMLFormElement, from: HTMLElement): HTMLElement {
  const open = [...form.querySelectorAll<HTMLElement>('fieldset')].filter(
    (question) => question.querySelector('input:checked') === null,
  );
  const after = open.find(
    (question) => (from.compareDocumentPosition(question) & Node.DOCUMENT_POSITION_FOLLOWING) !== 0,
  );
  const next = (after ?? open[0])?.querySelector<HTMLElement>('input[type=radio]');
  return next ?? form.querySelector<HTMLElement>('[data-next]') ?? from;
}

function countAnswers(form: HTMLFormElement): void {
  const line = form.querySelector<HTMLElement>('[data-progress]');
  if (line === null) return;
  const questions = [...form.querySelectorAll('fieldset')];
  const here = questions.filter((question) => question.querySelector('input:checked') !== null).length;
  const write = (name: string, number: number) => {
    const place = line.querySelector(`[data-${name}]`);
    if (place !== null) place.textContent = String(number);
  };
  write('answered', Number(line.dataset.answeredElsewhere) + here);
  write('left', questions.length - here);
}
