import { describeSign } from '../../../clinic/listening/signs.js';
import type { Chart } from '../../../clinic/people/chart.js';
import { findWarningWords } from '../../../listening/findWarningWords.js';
import { dayInWords } from '../../../text/dates.js';
import type { HttpResources } from '../../server/resources.js';

/** The words of a note that may name a sign, as pages show them. */
export function foundView(service: Pick<HttpResources, 'workshop'>, text: string) {
  return findWarningWords(text, service.workshop.warningWords).map(({ sign, said, isNegated }) => ({
    said,
    isNegated,
    sign: describeSign(service, sign),
  }));
}

/**
 * A patient's unread notes, for the partial `notes-unread`; those that may name a sign first, then in the order
 * written.
 */
export async function unreadNotesView(
  service: Pick<HttpResources, 'workshop' | 'words'>,
  chart: Pick<Chart, 'patient' | 'unreadNotes' | 'caregivers'>,
): Promise<object> {
  const { words } = service;
  const { patient } = chart;
  const notes = await chart.unreadNotes();
  const caregivers = notes.length === 0 ? [] : await chart.caregivers();
  const nameOf = (id: string) =>
    caregivers.find((caregiver) => caregiver.id === id)?.name ?? words.formerCaregiver;
  const shown = notes.map(({ checkInId, text, signs, atMs, caregiverId }) => {
    const found = foundView(service, text);
    return {
      ...{ checkInId, text, found, isUrgent: signs.length > 0 },
      when: dayInWords(atMs, patient.zone),
      by: caregiverId === null ? null : nameOf(caregiverId),
    };
  });
  return {
    hasUnreadNotes: shown.length > 0,
    hasSomeUnreadNotes: shown.length > 1,
    hasUrgentNotes: shown.some(({ isUrgent }) => isUrgent),
    // Notes that name no sign are marked as read together; the others one by one.
    hasSomeOrdinaryNotes: shown.filter(({ isUrgent }) => !isUrgent).length > 1,
    unreadCount: shown.length,
    unreadSince: shown[0]?.when ?? null,
    unreadNotes: [...shown.filter(({ isUrgent }) => isUrgent), ...shown.filter(({ isUrgent }) => !isUrgent)],
  };
}
