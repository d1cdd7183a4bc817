/** "Answer No to the rest" answers in the page; without this the service does the same. */
export function startScreening(form: HTMLFormElement, button: HTMLButtonElement): void {
  button.addEventListener('click', (event) => {
    event.preventDefault();
    // What cannot wait is asked by itself.
    const together = [
      ...form.querySelectorAll<HTMLInputElement>('fieldset:not([data-ask-alone]) input[type=radio]'),
    ];
    const answered = new Set(together.filter(({ checked }) => checked).map(({ name }) => name));
    for (const radio of together) if (radio.value === 'no' && !answered.has(radio.name)) radio.checked = true;
  });
}
