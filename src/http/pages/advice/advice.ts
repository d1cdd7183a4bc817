import { acceptAdvice, answerAdvice, editAdvice } from '../../../clinic/followup/advice.js';
import type { PreparationResources } from '../../../clinic/listening/prepareSessions.js';
import { prepareSessionsFor } from '../../../clinic/listening/prepareSessions.js';
import { type Chart, openChart, readChart, readChartDuringWork } from '../../../clinic/people/chart.js';
import type { Conflict } from '../../../clinic/prescribing/signing.js';
import { wholeNumber } from '../../../clinic/values.js';
import { field } from '../../forms/fields.js';
import { attempt, withSentences } from '../../server/problems.js';
import type { PageResources } from '../../server/routing.js';
import { type AuthenticatedRequest, type PageReply, Routes } from '../../server/routing.js';
import { unreadNotesView } from '../sessions/notesView.js';
import { adviceView, type TypedAnswer } from './adviceView.js';

type Refused = { typed: TypedAnswer; problems: readonly object[]; conflict?: Conflict };

/** Dose advice for one patient: each with its rule and numbers, to be accepted, edited or declined. */
export function adviceRoutes(service: PreparationResources & PageResources): Routes {
  async function page(
    request: AuthenticatedRequest,
    chart: Chart,
    refused: Refused | null = null,
  ): Promise<PageReply> {
    const { patient } = chart;
    const { typed = null, problems = [], conflict = null } = refused ?? {};
    return {
      kind: 'page',
      page: 'advice',
      status: refused === null ? 200 : conflict === null ? 400 : 409,
      view: {
        patient,
        mayWrite: request.mayWrite,
        hasProblems: refused !== null,
        problems,
        isConflict: conflict !== null,
        conflict,
        unsignedWork: typed === null ? null : `/prescriptions/${typed.prescriptionId}/change`,
        ...(await adviceView(service, request, chart, { typed })),
        ...(await unreadNotesView(service, chart)),
      },
    };
  }

  /** Carries out the form's action, or returns what prevents it. */
  async function done(
    request: AuthenticatedRequest,
    chart: Chart,
    typed: TypedAnswer,
  ): Promise<PageReply | Refused> {
    const to = `/patients/${chart.patient.id}/advice`;
    switch (typed.do) {
      case 'accept': {
        const signed = await acceptAdvice(service, request, chart, typed, typed.reason);
        if (signed.kind === 'refused')
          return { typed, problems: withSentences(signed.refusals, service.words) };
        if (signed.kind === 'conflict') return { typed, problems: [], conflict: signed.conflict };
        prepareSessionsFor(service, chart.clinicId, chart.patient.id);
        return { kind: 'redirect', to: `/prescriptions/${signed.prescriptionId}` };
      }
      case 'edit':
        return { kind: 'redirect', to: await editAdvice(service, request, chart, typed) };
      case 'decline':
      case 'looked-at': {
        const answer = typed.do === 'decline' ? 'declined' : 'looked-at';
        await answerAdvice(service, request, chart, typed, { answer, reason: typed.reason });
        return { kind: 'redirect', to };
      }
      default:
        return { kind: 'redirect', to };
    }
  }

  return new Routes(service)
    .authenticatedRoute('get', '/patients/:id/advice', async (request) =>
      page(request, await readChart(service, request, request.params.id ?? '')),
    )
    .authenticatedRoute('post', '/patients/:id/advice', async (request) => {
      const chart = await readChartDuringWork(service, request, request.params.id ?? '');
      const typed = typedIn(request);
      const result = await attempt(() => done(request, chart, typed));
      // It was refused because of something that may have arrived in the meantime: the page shows the current state.
      const anew = () => openChart(service.store, chart.clinicId, chart.patient);
      if (result.kind === 'refused')
        return page(request, anew(), { typed, problems: withSentences(result.refusals, service.words) });
      return 'problems' in result.value ? page(request, anew(), result.value) : result.value;
    });
}

function typedIn({ fields }: AuthenticatedRequest): TypedAnswer {
  const index = field(fields, 'exerciseIndex');
  return {
    do: field(fields, 'do'),
    prescriptionId: field(fields, 'prescriptionId'),
    versionNumber: wholeNumber(field(fields, 'versionNumber')),
    exerciseIndex: index === '' ? null : wholeNumber(index),
    key: field(fields, 'key'),
    reason: field(fields, 'reason'),
  };
}
