import { startPrescribing } from './prescribe.js';

for (const form of document.querySelectorAll<HTMLFormElement>('form[data-prescribe]')) startPrescribing(form);
