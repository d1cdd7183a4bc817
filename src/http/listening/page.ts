import { randomUUID } from 'node:crypto';
import type { ReportPlace } from '../../clinic/listening/reportPlaces.js';
import { findNearestSession } from '../../listening/nearest.js';
import type { Plan, PlannedPerson } from '../../listening/plan.js';
import type { HttpResources } from '../server/resources.js';

/**
 * What the listening page shows, including its plan, so that it works as soon as it loads.
 *
 * @param places where reports go for patients without a session, by their ids
 */
export function listenView(
  { assets, workshop, words: said }: Pick<HttpResources, 'workshop' | 'words' | 'assets'>,
  plan: Plan,
  places: ReadonlyMap<string, ReportPlace>,
): object {
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
    plain: plan.people.map((person) => plainView(person, plan, places.get(person.id))),
  };
}

/** One patient on the page before any script runs, and where none does: what to play, and how to report. */
function plainView(
  { id, spokenName, isHeld, isBeingChecked, sessions }: PlannedPerson,
  { nowMs }: Pick<Plan, 'nowMs'>,
  placeOfNoSession: ReportPlace | undefined,
): object {
  const due = isHeld ? [] : sessions.filter(({ state }) => state === 'due');
  const nearest = findNearestSession(nowMs, sessions);
  const place = nearest ?? placeOfNoSession ?? null;
  return {
    spokenName,
    isHeld,
    due,
    isBeingChecked: !isHeld && isBeingChecked === true,
    nothing: due.length === 0 && (isHeld || isBeingChecked !== true),
    report: place === null ? null : { ...place, id, formId: randomUUID(), isOfSession: nearest !== null },
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

/** A link that dials a number, as in RFC 3966. */
function telephoneAddress(number: string): string {
  return `tel:${number.replaceAll(/[^\d+*#]/g, '')}`;
}

/** JSON that is safe inside script tags. */
function forScript(value: unknown): string {
  return JSON.stringify(value).replaceAll('<', '\\u003c');
}

/** Makes the page installable on a phone's home screen (W3C Web App Manifest). */
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
