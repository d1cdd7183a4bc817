/** "No to all that are open" answers in the page; without this the service does the same. */
export function startScreening(form: HTMLFormElement, button: HTMLButtonElement): void {
  button.addEventListener('click', (event) => {
    event.preventDefault();
    const radios = [...form.querySelectorAll<HTMLInputElement>('input[type=radio]')];
    const answered = new Set(radios.filter(({ checked }) => checked).map(({ name }) => name));
    for (const radio of radios) if (radio.value === 'no' && !answered.has(radio.name)) radio.checked = true;
  });
}
