import type { Request, Response } from 'express';
import type { OtherReader } from '../../clinic/listening/links.js';
import { findListener } from '../../clinic/listening/listener.js';
import { hashToken } from '../../clinic/tokens.js';
import { linkOfToken } from '../../store/listening/listeningLinks.js';
import type { DoorResources } from './door.js';
import { admitListener, type Inside } from './faults.js';

/**
 * Admits a patient's other apps, such as a player or a calendar, by the token in their address; an invalid address is
 * answered the same way whatever the reason. They cannot give a PIN: whoever requested the address had given it.
 */
export function openReaderDoor(service: DoorResources, purpose: OtherReader) {
  const { store, listeningLimits } = service;
  return (handle: Inside) => async (request: Request, response: Response) => {
    const tokenHash = hashToken(String(request.params.token));
    const listener = await store.read(async (db) => {
      const link = await linkOfToken(db, { tokenHash, purpose, nowMs: service.now() });
      return link === null || link.patientId === null ? null : findListener(db, link);
    });
    if (listener !== null) return admitListener(service, handle, listener, request, response);
    const isQuiet = await listeningLimits.mayMissLink(request.ip ?? 'unknown');
    return response.status(isQuiet ? 404 : 429).json({ problem: 'dead-link' });
  };
}
