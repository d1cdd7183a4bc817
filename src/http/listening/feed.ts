import { createHash } from 'node:crypto';
import { Router } from 'express';
import { z } from 'zod';
import { ConcurrencyLimit } from '../../clinic/listening/concurrencyLimit.js';
import { playableProgram } from '../../clinic/listening/sessions.js';
import { chaptersJsonOf } from '../../documents/chaptersJson.js';
import { slotSchema } from '../../listening/report.js';
import { timedScriptSchema } from '../../script/timedScript.js';
import { keepDelivery } from '../../store/listening/listeningRecords.js';
import type { HttpResources } from '../server/resources.js';
import { sendFile } from '../server/sendFile.js';
import { answerGone } from './faults.js';
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
  service: Pick<
    HttpResources,
    | 'store'
    | 'workshop'
    | 'pages'
    | 'assets'
    | 'shelf'
    | 'lengths'
    | 'versions'
    | 'listeningLimits'
    | 'reminderSecrets'
    | 'channelNames'
    | 'incidents'
    | 'words'
    | 'now'
  >,
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
      const asked = placeSchema.safeParse(request.params);
      if (!asked.success) return answerGone(service, listener, request, response);
      const { file, slot, ...place } = asked.data;
      const patientIds = listener.patients.map(({ patientId }) => patientId);
      const playable = await playableProgram(service, { clinicId: listener.clinicId, patientIds }, place);
      if (playable === null) return answerGone(service, listener, request, response);
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
        const said = { ...place, slot, patientId, linkId: listener.linkId, caregiverId: null };
        const delivery = { id: id.digest('hex'), ...said, atMs, receivedAtMs: atMs };
        await store
          .write((db) => keepDelivery(db, delivery))
          .catch((error: unknown) => opened.handle.close().then(() => Promise.reject(error)));
      }
      return sendFile(response, opened, { name: file, download: null });
    }),
  );
  return router;
}
