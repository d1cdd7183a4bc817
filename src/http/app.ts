import { createServer, type Server } from 'node:http';
import express, { type ErrorRequestHandler, type Express } from 'express';
import { apiRouter } from './api/router.js';
import { calendarRoutes } from './listening/calendar.js';
import { listenerFaultRoutes } from './listening/faultRoutes.js';
import { feedRoutes } from './listening/feed.js';
import { listeningRoutes } from './listening/listening.js';
import { listeningPushRoutes } from './listening/push.js';
import { listeningReportRoutes } from './listening/reports.js';
import { listeningSoundRoutes } from './listening/sound.js';
import { unsubscribeRoutes } from './listening/unsubscribe.js';
import { accountRoutes } from './pages/account/account.js';
import { activityRoutes } from './pages/activity/activity.js';
import { adviceRoutes } from './pages/advice/advice.js';
import { clinicViewRoutes } from './pages/clinicView/clinicView.js';
import { documentRoutes } from './pages/documents/documents.js';
import { exerciseRoutes } from './pages/exercises/exercises.js';
import { healthRoutes } from './pages/health/health.js';
import { helpRoutes } from './pages/help/help.js';
import { homeRoutes } from './pages/home/home.js';
import { incidentRoutes } from './pages/incidents/incidents.js';
import { linkRoutes } from './pages/links/links.js';
import { measureRoutes } from './pages/measures/measures.js';
import { personRoutes } from './pages/patient/patient.js';
import { patientFormRoutes } from './pages/patient/patientForm.js';
import { prescribeRoutes } from './pages/prescribe/prescribe.js';
import { prescriptionRoutes } from './pages/prescription/prescription.js';
import { followUpRoutes } from './pages/progress/progress.js';
import { recordRoutes } from './pages/record/record.js';
import { reminderRoutes } from './pages/reminders/reminders.js';
import { screeningRoutes } from './pages/screening/screening.js';
import { sessionRoutes } from './pages/sessions/sessions.js';
import { resetPasswordRoutes } from './pages/signIn/resetPassword.js';
import { signInRoutes } from './pages/signIn/signIn.js';
import { colleagueRoutes } from './pages/team/colleagues.js';
import { serveAudio } from './server/audioRange.js';
import { errorResponse } from './server/errorResponse.js';
import { logRequests, nameRequests } from './server/logRequests.js';
import type { HttpResources } from './server/resources.js';
import { frameOf } from './server/routing.js';
import { comesFromOurPages, securityHeaders } from './server/security.js';

const mostBodyBytes = 300_000;

/** The web service of a clinic. The caller makes it listen. */
export function openServer(service: HttpResources): Server {
  const app = express();
  app.disable('x-powered-by');
  // Express never responds with a stack trace, whatever its environment says.
  app.set('env', 'production');
  // With https there is one proxy in front; the visitor's address is then the one it names.
  app.set('trust proxy', service.https ? 1 : false);
  app.use(nameRequests);
  app.use(healthRoutes(service));
  app.use(logRequests(service.log));
  app.use(securityHeaders(service.https));
  app.use(service.assets.serve);
  app.use((_request, response, next) => {
    // Health data: neither the browser nor anything in between stores a copy of any response, errors included.
    response.set('cache-control', 'no-store');
    next();
  });
  app.use('/api/v1', apiRouter(service));
  // Requests to a listener's address come from someone who knows its secret, and none of them relies on a cookie alone,
  // so they need no further proof of coming from our pages, which older browsers cannot give. The form without scripts
  // parses its own, longer, fields, so it comes first.
  app.use(listeningReportRoutes(service), listeningRoutes(service));
  app.use(listeningSoundRoutes(service), listeningPushRoutes(service));
  // The same applies to player and calendar addresses, and to unsubscribe links, which contain a secret.
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
    service.log({ event: 'request-refused', why: 'another-site' });
    response.status(403).send(messagePage(service, 403, 'This request came from another site', []));
  });
  app.use(express.urlencoded({ extended: false, limit: mostBodyBytes, parameterLimit: 2_000 }));
  app.use(signInRoutes(service).router, accountRoutes(service).router, resetPasswordRoutes(service).router);
  const rooms = [
    colleagueRoutes,
    homeRoutes,
    patientFormRoutes,
    incidentRoutes,
    personRoutes,
    linkRoutes,
    sessionRoutes,
    followUpRoutes,
    clinicViewRoutes,
    reminderRoutes,
    recordRoutes,
    measureRoutes,
    documentRoutes,
    screeningRoutes,
    adviceRoutes,
    exerciseRoutes,
    helpRoutes,
  ];
  for (const routes of [...rooms, prescribeRoutes, prescriptionRoutes, activityRoutes])
    app.use(routes(service).router);
  serveAudio(app, service);
  addLastResorts(app, service);
  return createServer(app);
}

function addLastResorts(app: Express, service: HttpResources): void {
  app.use((_request, response) => {
    response.status(404).send(messagePage(service, 404, 'Page not found', []));
  });
  const onError: ErrorRequestHandler = (error: unknown, _request, response, _next) => {
    if (response.headersSent) {
      // A partial response must not look complete.
      errorResponse(error, service, response);
      return response.destroy();
    }
    const { status, heading, problems, requestId } = errorResponse(error, service, response);
    response.status(status).send(messagePage(service, status, heading, problems, requestId));
  };
  app.use(onError);
}

function messagePage(
  service: HttpResources,
  status: number,
  heading: string,
  problems: readonly object[],
  requestId: string | null = null,
): string {
  const view = { status, heading, problems, requestId, backTo: '/', backWords: 'Home' };
  return service.pages.page('message', frameOf(service, heading, null), view);
}
