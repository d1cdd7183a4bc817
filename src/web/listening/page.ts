import type { Plan } from '../../listening/plan.js';
import type { Service } from '../service.js';

/** What the listening page shows, its plan included, so that it works as soon as it is there. */
export function listenView({ assets, workshop, words: said }: Service, plan: Plan): object {
  return {
    assets,
    planJson: forScript(plan),
    isCaregiver: plan.isCaregiver,
    mayBeReminded: plan.pushKey !== undefined,
    clinic: calledView(plan.clinic),
    people: plan.people,
    scale: Array.from({ length: 11 }, (_, number) => number),
    notesReading: plan.clinic.notesReading ?? said.usualNotesReading,
    wordsJson: forScript(workshop.warningWords),
    signs: workshop.warningSigns.signs.map(({ id, words, urgency, instruct, isOffered }) => ({
      id,
      words,
      instruct,
      urgency,
      isOffered,
      isEmergency: urgency === 'emergency',
    })),
    due: plan.people.flatMap(({ spokenName, isHeld, sessions }) =>
      isHeld
        ? []
        : sessions.filter(({ state }) => state === 'due').map((session) => ({ ...session, spokenName })),
    ),
  };
}

/** Whom to call, as pages show it. */
export function calledView({ name, phone, emergencyNumber }: Plan['clinic']): object {
  return {
    name,
    phone,
    emergencyNumber,
    phoneAddress: telephoneAddress(phone),
    emergencyAddress: telephoneAddress(emergencyNumber),
    hasPhone: phone !== '',
    hasEmergencyNumber: emergencyNumber !== '',
  };
}

/** A link that telephones, as in RFC 3966. */
function telephoneAddress(number: string): string {
  return `tel:${number.replaceAll(/[^\d+*#]/g, '')}`;
}

/** JSON that may stand between script tags, which are read before anything in them. */
function forScript(value: unknown): string {
  return JSON.stringify(value).replaceAll('<', '\\u003c');
}

/** Makes the page one that can stand on a phone's first screen (W3C Web App Manifest). */
export function manifest(): object {
  return {
    name: 'Stillcount',
    short_name: 'Stillcount',
    start_url: './',
    scope: './',
    display: 'standalone',
    background_color: '#faf6ef',
    theme_color: '#faf6ef',
    icons: [{ src: 'icon.svg', sizes: 'any', type: 'image/svg+xml', purpose: 'any' }],
  };
}
