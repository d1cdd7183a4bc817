import { gzipSync } from 'node:zlib';
import { type Response, Router } from 'express';
import { z } from 'zod';
import { ConcurrencyLimit } from '../../clinic/listening/concurrencyLimit.js';
import { promptFor } from '../../clinic/listening/prompts.js';
import { playableProgram } from '../../clinic/listening/sessions.js';
import { type PlayedSession, promptKeys } from '../../listening/plan.js';
import { easierChoices } from '../../listening/report.js';
import { listSides } from '../../script/sides.js';
import { timedScriptSchema } from '../../script/timedScript.js';
import type { ShelvedSession } from '../../session/renderedSessionStore.js';
import type { HttpResources } from '../server/resources.js';
import { sendFile } from '../server/sendFile.js';
import type { DoorResources } from './door.js';
import { openDoor } from './door.js';
import { replyGone } from './faults.js';
import { SessionFigures } from './figures.js';

const placeSchema = z.object({
  prescriptionId: z.uuid(),
  versionNumber: z.coerce.number().int().min(1).max(1_000_000),
  sessionNumber: z.coerce.number().int().min(1).max(1_000_000),
  choice: z.enum(easierChoices).nullable().default(null),
  file: z.enum(['session.json', 'session.mp3', 'session.vtt', 'session.txt', 'session.html']),
});
/** Rate limit for a phone that fetches its next sessions and all prompts, some at a time. */
const mostMaking = 24;

const promptSchema = z.object({ patientId: z.uuid(), key: z.enum(promptKeys) });

/** Sessions, their figures, and prompts of listeners. What is not theirs, or no longer plays, is gone (RFC 9110, 15.5.11). */
export function listeningSoundRoutes(
  service: DoorResources & Pick<HttpResources, 'workshop' | 'shelf' | 'versions'>,
): Router {
  const router = Router();
  const { shelf, pages, assets } = service;
  const { open } = openDoor(service);
  const making = new ConcurrencyLimit(mostMaking);
  const figures = new SessionFigures();

  router.get(
    '/l/:token/sessions/:prescriptionId/:versionNumber/:sessionNumber{-:choice}/:file',
    open(async (listener, request, response) => {
      const parsed = placeSchema.safeParse(request.params);
      if (!parsed.success) return replyGone(service, listener, request, response);
      const { file, ...place } = parsed.data;
      const patientIds = listener.patients.map(({ patientId }) => patientId);
      const playable = await playableProgram(service, { clinicId: listener.clinicId, patientIds }, place);
      if (playable === null) return replyGone(service, listener, request, response);
      if (file === 'session.html') {
        const page = pages.part('listen-figures', { assets, ...(await figures.view(playable.program)) });
        return sendPage(response, page);
      }
      const session = await making.run(listener.linkId, () => shelf.session(listener, playable.program));
      if (file === 'session.json') return response.json(await playedSession(session));
      const download = 'download' in request.query ? `${playable.prescription.title}${file.slice(7)}` : null;
      return sendFile(response, await session.open(file), { name: file, download });
    }),
  );

  router.get(
    '/l/:token/prompts/:patientId/:key.mp3',
    open(async (listener, request, response) => {
      const parsed = promptSchema.safeParse(request.params);
      if (!parsed.success) return replyGone(service, listener, request, response);
      const prompt = await making.run(listener.linkId, () => promptFor(service, listener, parsed.data));
      if (prompt === null) return replyGone(service, listener, request, response);
      const name = 'session.mp3';
      return sendFile(response, await prompt.open(name), { name, download: null });
    }),
  );
  return router;
}

async function playedSession(session: ShelvedSession): Promise<PlayedSession> {
  const text = (await session.read('session.script.json')).toString('utf8');
  const script = timedScriptSchema.parse(JSON.parse(text));
  const { title, durationMs, chapters, resumePointsMs } = script;
  const sides = listSides(script);
  return {
    title,
    durationMs,
    chapters: chapters.map((chapter) => ({ title: chapter.title, startMs: chapter.startMs })),
    resumePointsMs,
    ...(sides.length === 0 ? {} : { sides }),
  };
}

/**
 * A page of figures holds no secret and nothing that a request brought, so it may be compressed: its path data takes a
 * third of the time on a slow network then.
 */
function sendPage(response: Response, page: string): unknown {
  response.type('html').vary('accept-encoding');
  if (response.req.acceptsEncodings('gzip', 'identity') !== 'gzip') return response.send(page);
  return response.set('content-encoding', 'gzip').send(gzipSync(page));
}
