import { createHash } from 'node:crypto';
import { Router } from 'express';
import { z } from 'zod';
import { ConcurrencyLimit } from '../../clinic/listening/concurrencyLimit.js';
import type { PlaybackResources } from '../../clinic/listening/notPlayable.js';
import { playableProgram } from '../../clinic/listening/sessions.js';
import { chaptersJsonOf } from '../../documents/chaptersJson.js';
import { slotSchema } from '../../listening/report.js';
import { timedScriptSchema } from '../../script/timedScript.js';
import { saveFeedDelivery } from '../../store/listening/listeningRecords.js';
import type { HttpResources } from '../server/resources.js';
import { sendFile } from '../server/sendFile.js';
import type { DoorResources } from './door.js';
import { replyGone } from './faults.js';
import { feedFor } from './feedFor.js';
import { openReaderDoor } from './readerDoor.js';

const count = z.coerce.number().int().min(1).max(1_000_000);
const placeSchema = z.object({
  prescriptionId: z.uuid(),
  versionNumber: count,
  sessionNumber: count,
  slot: z
    .string()
    .transform((slot) => slot.replace(/-(\d)$/, '#$1'))
    .pipe(slotSchema),
  file: z.enum(['session.mp3', 'session.vtt', 'session.txt', 'chapters.json']),
});

/** Rate limit for a player that fetches a session and its parts. */
const mostMaking = 8;

/** A patient's sessions for podcast players, under a separate token. A download counts only as delivered. */
export function feedRoutes(
  service: DoorResources &
    PlaybackResources &
    Pick<HttpResources, 'shelf' | 'reminderSecrets' | 'channelNames'>,
): Router {
  const router = Router();
  const { store, shelf } = service;
  const making = new ConcurrencyLimit(mostMaking);

  const open = openReaderDoor(service, 'feed');

  router.get(
    '/feed/:token.xml',
    open(async (listener, request, response) => {
      const address = `${request.protocol}://${request.get('host') ?? ''}${request.path.replace(/\.xml$/, '')}`;
      response.set('cache-control', 'private, no-cache').type('application/rss+xml; charset=utf-8');
      return response.send(await feedFor(service, listener, address));
    }),
  );

  router.get(
    '/feed/:token/:prescriptionId/:versionNumber/:sessionNumber/:slot/:file',
    open(async (listener, request, response) => {
      const parsed = placeSchema.safeParse(request.params);
      if (!parsed.success) return replyGone(service, listener, request, response);
      const { file, slot, ...place } = parsed.data;
      const patientIds = listener.patients.map(({ patientId }) => patientId);
      const playable = await playableProgram(service, { clinicId: listener.clinicId, patientIds }, place);
      if (playable === null) return replyGone(service, listener, request, response);
      const session = await making.run(listener.linkId, () => shelf.session(listener, playable.program));
      if (file === 'chapters.json') {
        const text = (await session.read('session.script.json')).toString('utf8');
        const chapters = chaptersJsonOf(timedScriptSchema.parse(JSON.parse(text)));
        return response.type('application/json+chapters').send(chapters);
      }
      // Only what can be delivered is recorded as delivered.
      const opened = await session.open(file);
      if (file === 'session.mp3' && request.method === 'GET') {
        const { patientId } = playable.prescription;
        // One delivery per session, however many ranges a player requests.
        const id = createHash('sha256').update(JSON.stringify([listener.linkId, place.prescriptionId, slot]));
        const atMs = service.now();
        const source = { ...place, slot, patientId, linkId: listener.linkId, caregiverId: null };
        const delivery = { id: id.digest('hex'), ...source, atMs, receivedAtMs: atMs };
        await store
          .write((db) => saveFeedDelivery(db, delivery))
          .catch((error: unknown) => opened.handle.close().then(() => Promise.reject(error)));
      }
      return sendFile(response, opened, { name: file, download: null });
    }),
  );
  return router;
}
