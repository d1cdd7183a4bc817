import { startPrescribing } from './prescribe.js';
import { startScreening } from './screening.js';

for (const form of document.querySelectorAll<HTMLFormElement>('form[data-prescribe]')) startPrescribing(form);
for (const button of document.querySelectorAll<HTMLButtonElement>('[data-rest-no]'))
  if (button.form !== null) startScreening(button.form, button);
