import { z } from 'zod';
import { createLink, pinSchema, revokeLink } from '../../../clinic/listening/links.js';
import type { PreparationResources } from '../../../clinic/listening/prepareSessions.js';
import { prepareSessions } from '../../../clinic/listening/prepareSessions.js';
import { readChartDuringWork } from '../../../clinic/people/chart.js';
import { parseForm } from '../../../clinic/values.js';
import { clinicById } from '../../../store/accounts/clinics.js';
import { dayInWords } from '../../../text/dates.js';
import { field } from '../../forms/fields.js';
import type { PageResources } from '../../server/routing.js';
import { type AuthenticatedRequest, type PageReply, Routes } from '../../server/routing.js';

/** Listening links: given, replaced and ended with one click, and shown once, for printing. */
export function linkRoutes(service: PreparationResources & PageResources): Routes {
  const { store, words } = service;

  async function give(request: AuthenticatedRequest, caregiverId: string | null): Promise<PageReply> {
    const chart = await readChartDuringWork(service, request, request.params.id ?? '');
    const { patient } = chart;
    const { pin } = parseForm(z.object({ pin: pinSchema }), { pin: field(request.fields, 'pin') });
    const link = await createLink(service, request, { patientId: patient.id, caregiverId, pin });
    if (link.listener !== null) prepareSessions(service, link.listener);
    const caregivers = await chart.caregivers();
    const clinic = await store.read((db) => clinicById(db, request.clinician.clinicId));
    const programs = (await chart.programs())
      .filter(({ state }) => state === 'active')
      .map(({ id, title, state }) => ({ id, title, state: words.prescriptionStates[state] }));
    const address = `${request.origin}/l/${link.token}/`;
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
        typedAt: `${request.origin}/l`,
        hasPin: link.hasPin,
        until: dayInWords(link.expiresAtMs, request.clinician.clinicZone),
        clinic,
        hasPhone: clinic.phone !== '',
        isOwner: request.clinician.role === 'owner',
        handout: caregiverId === null && programs.length > 0 ? { token: link.token, programs } : null,
      },
    };
  }

  async function take(request: AuthenticatedRequest, caregiverId: string | null): Promise<PageReply> {
    const patientId = request.params.id ?? '';
    await revokeLink(service, request, { patientId, caregiverId });
    return { kind: 'redirect', to: `/patients/${patientId}#listening` };
  }

  return new Routes(service)
    .authenticatedRoute('post', '/patients/:id/link', (request) => give(request, null))
    .authenticatedRoute('post', '/patients/:id/link/end', (request) => take(request, null))
    .authenticatedRoute('post', '/patients/:id/caregivers/:caregiverId/link', (request) =>
      give(request, request.params.caregiverId ?? ''),
    )
    .authenticatedRoute('post', '/patients/:id/caregivers/:caregiverId/link/end', (request) =>
      take(request, request.params.caregiverId ?? ''),
    );
}
