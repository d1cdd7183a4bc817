import type { Express, Response } from 'express';
import type { SessionAudio } from '../../audio/sessionAudio.js';
import type { HttpResources } from './resources.js';
import { authenticate } from './routing.js';

/** Sessions to play, in any byte range (RFC 9110, section 14), only for the clinic that made them. */
export function serveAudio(app: Express, service: Pick<HttpResources, 'store' | 'hearing' | 'now'>): void {
  app.get('/audio/:key.mp3', async (request, response) => {
    const authenticated = await authenticate(request, service);
    if (authenticated === null) return response.status(401).end();
    const audio = await service.hearing.audioOf(authenticated.clinician.clinicId, request.params.key);
    if (audio === undefined) return response.status(404).end();
    response.set({
      'content-type': 'audio/mpeg',
      'accept-ranges': 'bytes',
      'cache-control': 'private, no-store',
    });
    const range = request.range(audio.byteLength, { combine: true });
    if (range === -1) {
      return response.status(416).set('content-range', `bytes */${audio.byteLength}`).end();
    }
    const [part] = range === undefined || range === -2 || range.type !== 'bytes' ? [] : range;
    if (part === undefined) return send(response, audio, 0, audio.byteLength);
    response.status(206).set('content-range', `bytes ${part.start}-${part.end}/${audio.byteLength}`);
    return send(response, audio, part.start, part.end + 1);
  });
}

function send(response: Response, audio: SessionAudio, start: number, endExclusive: number): void {
  response.set('content-length', String(endExclusive - start));
  if (response.req.method === 'HEAD') response.end();
  else response.end(audio.read(start, endExclusive));
}
