import { createServer, type Server } from 'node:http';
import express, { type ErrorRequestHandler, type Express } from 'express';
import { apiRouter } from './api/router.js';
import { serveAudio } from './audioRange.js';
import { errorResponse } from './errorResponse.js';
import { logRequests } from './log.js';
import { accountRoutes } from './routes/account.js';
import { adviceRoutes } from './routes/advice.js';
import { calendarRoutes } from './routes/calendar.js';
import { clinicViewRoutes } from './routes/clinicView.js';
import { colleagueRoutes } from './routes/colleagues.js';
import { feedRoutes } from './routes/feed.js';
import { followUpRoutes } from './routes/followUp.js';
import { healthRoutes } from './routes/health.js';
import { heardRoutes } from './routes/heard.js';
import { helpRoutes } from './routes/help.js';
import { incidentRoutes } from './routes/incidents.js';
import { linkRoutes } from './routes/links.js';
import { listenerFaultRoutes } from './routes/listenerFaults.js';
import { listeningRoutes } from './routes/listening.js';
import { listeningPushRoutes } from './routes/listeningPush.js';
import { listeningSoundRoutes } from './routes/listeningSound.js';
import { listeningTellRoutes } from './routes/listeningTell.js';
import { measureRoutes } from './routes/measures.js';
import { paperRoutes } from './routes/papers.js';
import { peopleRoutes } from './routes/people.js';
import { personRoutes } from './routes/person.js';
import { prescribeRoutes } from './routes/prescribe.js';
import { prescriptionRoutes } from './routes/prescriptions.js';
import { recordRoutes } from './routes/record.js';
import { reminderRoutes } from './routes/reminders.js';
import { resetPasswordRoutes } from './routes/resetPassword.js';
import { screeningRoutes } from './routes/screening.js';
import { signInRoutes } from './routes/signIn.js';
import { trailRoutes } from './routes/trail.js';
import { unsubscribeRoutes } from './routes/unsubscribe.js';
import { frameOf } from './routing.js';
import { comesFromOurPages, securityHeaders } from './security.js';
import type { Service } from './service.js';

const mostBodyBytes = 300_000;

/** The web service of a clinic. Listening is up to the caller. */
export function openServer(service: Service): Server {
  const app = express();
  app.disable('x-powered-by');
  // Whatever its environment says, Express never answers with the trace of an error.
  app.set('env', 'production');
  // One proxy in front, when there is https; then the address of the visitor is the one that it names.
  app.set('trust proxy', service.https ? 1 : false);
  app.use(healthRoutes(service));
  app.use(logRequests(service.log));
  app.use(securityHeaders(service.https));
  app.use(service.assets.serve);
  app.use((_request, response, next) => {
    // Health data: neither the browser nor anything between keeps a copy of any answer, errors included.
    response.set('cache-control', 'no-store');
    next();
  });
  app.use('/api/v1', apiRouter(service));
  // What comes to a listener's address comes from somebody who knows its secret, and nothing there rests on a cookie
  // alone: it needs no further proof that it comes from our pages, which older browsers cannot give.
  // The form without scripts reads its own, longer, fields: it comes first.
  app.use(listeningTellRoutes(service), listeningRoutes(service));
  app.use(listeningSoundRoutes(service), listeningPushRoutes(service));
  // The same holds for who follows the address of a player or calendar, or ends messages with the secret in them.
  app.use(feedRoutes(service), calendarRoutes(service), unsubscribeRoutes(service));
  app.use(listenerFaultRoutes(service));
  app.use((request, response, next) => {
    const ours = comesFromOurPages({
      method: request.method,
      host: request.headers.host ?? '',
      secFetchSite: request.get('sec-fetch-site'),
      origin: request.get('origin'),
    });
    if (ours) return next();
    service.log({ event: 'refused', why: 'another site' });
    response.status(403).send(messagePage(service, 403, 'This request came from another site', []));
  });
  app.use(express.urlencoded({ extended: false, limit: mostBodyBytes, parameterLimit: 2_000 }));
  app.use(signInRoutes(service).router, accountRoutes(service).router, resetPasswordRoutes(service).router);
  const rooms = [
    colleagueRoutes,
    peopleRoutes,
    incidentRoutes,
    personRoutes,
    linkRoutes,
    heardRoutes,
    followUpRoutes,
    clinicViewRoutes,
    reminderRoutes,
    recordRoutes,
    measureRoutes,
    paperRoutes,
    screeningRoutes,
    adviceRoutes,
    helpRoutes,
  ];
  for (const routes of [...rooms, prescribeRoutes, prescriptionRoutes, trailRoutes])
    app.use(routes(service).router);
  serveAudio(app, service);
  addLastResorts(app, service);
  return createServer(app);
}

function addLastResorts(app: Express, service: Service): void {
  app.use((_request, response) => {
    response.status(404).send(messagePage(service, 404, 'There is no such page', []));
  });
  const onError: ErrorRequestHandler = (error: unknown, _request, response, _next) => {
    if (response.headersSent) {
      // What was sent so far must not pass for the whole.
      errorResponse(error, service, response);
      return response.destroy();
    }
    const { status, heading, problems, requestId } = errorResponse(error, service, response);
    response.status(status).send(messagePage(service, status, heading, problems, requestId));
  };
  app.use(onError);
}

function messagePage(
  service: Service,
  status: number,
  heading: string,
  problems: readonly object[],
  requestId: string | null = null,
): string {
  const view = { status, heading, problems, requestId, backTo: '/', backWords: 'To the start' };
  return service.pages.page('message', frameOf(service, heading, null), view);
}
