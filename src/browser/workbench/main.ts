import { startPrescribing } from './prescribe.js';
import { startScreening } from './screening.js';

for (const form of document.querySelectorAll<HTMLFormElement>('form[data-prescribe]')) startPrescribing(form);
for (const form of document.querySelectorAll<HTMLFormElement>('form[data-interview]')) startScreening(form);
