import { z } from 'zod';
import { giveLink, pinSchema, takeLink } from '../../../clinic/listening/links.js';
import { makeAhead } from '../../../clinic/listening/makeAhead.js';
import { chartAtWork } from '../../../clinic/people/openRecord.js';
import { parsedForm } from '../../../clinic/values.js';
import { clinicById } from '../../../store/accounts/clinics.js';
import { dayInWords } from '../../../text/dates.js';
import { field } from '../../forms/fields.js';
import type { HttpResources } from '../../server/resources.js';
import { type AuthenticatedRequest, type PageReply, Routes } from '../../server/routing.js';

/** Listening links: given, replaced and ended with one click, and shown once, for printing. */
export function linkRoutes(
  service: Pick<
    HttpResources,
    | 'store'
    | 'workshop'
    | 'pages'
    | 'words'
    | 'assets'
    | 'shelf'
    | 'lengths'
    | 'versions'
    | 'reminderSecrets'
    | 'channelNames'
    | 'life'
    | 'incidents'
    | 'now'
    | 'https'
  >,
): Routes {
  const { store, words } = service;

  async function give(visit: AuthenticatedRequest, caregiverId: string | null): Promise<PageReply> {
    const chart = await chartAtWork(service, visit, visit.params.id ?? '');
    const { patient } = chart;
    const { pin } = parsedForm(z.object({ pin: pinSchema }), { pin: field(visit.fields, 'pin') });
    const link = await giveLink(service, visit, { patientId: patient.id, caregiverId, pin });
    if (link.listener !== null) makeAhead(service, link.listener);
    const caregivers = await chart.caregivers();
    const clinic = await store.read((db) => clinicById(db, visit.clinician.clinicId));
    const programs = (await chart.programs())
      .filter(({ state }) => state === 'active')
      .map(({ id, title, state }) => ({ id, title, state: words.prescriptionStates[state] }));
    const address = `${visit.origin}/l/${link.token}/`;
    const { default: qrcode } = await import('qrcode');
    return {
      kind: 'page',
      page: 'link',
      view: {
        patient,
        caregiver: caregivers.find(({ id }) => id === caregiverId) ?? null,
        address,
        // Level M survives a crease in the paper (ISO/IEC 18004: 15 %).
        qrSvg: await qrcode.toString(address, { type: 'svg', errorCorrectionLevel: 'M', margin: 4 }),
        code: link.code,
        typedAt: `${visit.origin}/l`,
        hasPin: link.hasPin,
        until: dayInWords(link.expiresAtMs, visit.clinician.clinicZone),
        clinic,
        hasPhone: clinic.phone !== '',
        isOwner: visit.clinician.role === 'owner',
        handout: caregiverId === null && programs.length > 0 ? { token: link.token, programs } : null,
      },
    };
  }

  async function take(visit: AuthenticatedRequest, caregiverId: string | null): Promise<PageReply> {
    const patientId = visit.params.id ?? '';
    await takeLink(service, visit, { patientId, caregiverId });
    return { kind: 'redirect', to: `/patients/${patientId}#listening` };
  }

  return new Routes(service)
    .authenticatedRoute('post', '/patients/:id/link', (visit) => give(visit, null))
    .authenticatedRoute('post', '/patients/:id/link/end', (visit) => take(visit, null))
    .authenticatedRoute('post', '/patients/:id/caregivers/:caregiverId/link', (visit) =>
      give(visit, visit.params.caregiverId ?? ''),
    )
    .authenticatedRoute('post', '/patients/:id/caregivers/:caregiverId/link/end', (visit) =>
      take(visit, visit.params.caregiverId ?? ''),
    );
}
