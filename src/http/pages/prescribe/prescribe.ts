import { clinicDayOf } from '../../../clinic/actor.js';
import type { PreparationResources } from '../../../clinic/listening/prepareSessions.js';
import { prepareSessionsFor } from '../../../clinic/listening/prepareSessions.js';
import { openChart } from '../../../clinic/people/chart.js';
import {
  discardDraft,
  findDamagedNewest,
  type OpenWork,
  openDraft,
  saveDraft,
  type Work,
  type WorkTarget,
} from '../../../clinic/prescribing/drafts.js';
import { type Conflict, signWork } from '../../../clinic/prescribing/signing.js';
import { listStarters } from '../../../clinic/prescribing/starters.js';
import type { Problem } from '../../../errors/stillcountError.js';
import { looseProgram } from '../../../prescription/looseProgram.js';
import { clinicCatalogue, readOrNull } from '../../../prescription/programFindings.js';
import { resolveSettlements } from '../../../prescription/resolveSettlements.js';
import { precautionsOf } from '../../../screening/answers.js';
import { openQuestions, type TakenScreening } from '../../../screening/takenScreening.js';
import { field } from '../../forms/fields.js';
import { withSentences } from '../../server/problems.js';
import type { HttpResources } from '../../server/resources.js';
import type { PageResources } from '../../server/routing.js';
import { type AuthenticatedRequest, type PageReply, Routes } from '../../server/routing.js';
import { unreadNotesView } from '../sessions/notesView.js';
import { searchOf } from './catalogueView.js';
import { placedInForm } from './sessionView.js';
import { draftChangeIn } from './workForm.js';
import { workView } from './workView.js';

/** Prescribing: a new program for a patient, or the next version of one. */
export function prescribeRoutes(
  service: PreparationResources & PageResources & Pick<HttpResources, 'hearing'>,
): Routes {
  const { workshop } = service;

  async function view(request: AuthenticatedRequest, { chart, work }: OpenWork): Promise<object> {
    const screening = await chart.screening();
    const beside = {
      screening: screening?.answers ?? null,
      search: searchOf(request.fields),
      audio: await heard(request, work, screening),
      today: clinicDayOf(request),
    };
    const precautions = precautionsOf(screening?.answers ?? {}, workshop.interview).map(({ id, name }) => ({
      name,
      details: screening?.answers[id]?.details,
    }));
    const openQuestionNames = screening === null ? [] : openQuestions(screening, workshop, request.nowMs);
    const openNames =
      openQuestionNames.length > 5 ? [...openQuestionNames.slice(0, 5), '…'] : openQuestionNames;
    const person = {
      openQuestions: openNames.join(', '),
      patient: work.patient,
      precautions,
      hasPrecautions: precautions.length > 0,
    };
    return { ...person, ...(await workView(work.content, beside, service)) };
  }

  /** Null while nothing has been requested or can be rendered: the page then says what prevents it. */
  async function heard(
    request: AuthenticatedRequest,
    { content }: Work,
    screening: TakenScreening | null,
  ): Promise<string | null> {
    if (field(request.fields, 'do') !== 'hear') return null;
    const read = readOrNull(
      resolveSettlements(content, screening?.answers ?? null, workshop, clinicDayOf(request)),
      workshop,
    );
    if (read === null) return null;
    return `/audio/${await service.hearing.make(request.clinician.clinicId, read.program)}.mp3`;
  }

  async function page(
    request: AuthenticatedRequest,
    open: OpenWork,
    more: { conflict?: Conflict; problems?: readonly Problem[] } = {},
  ): Promise<PageReply> {
    const { chart, work } = open;
    const isNew = work.prescriptionId === null;
    return {
      kind: 'page',
      page: 'prescribe',
      status: more.conflict !== undefined ? 409 : more.problems !== undefined ? 400 : 200,
      view: {
        action: isNew
          ? `/patients/${work.patient.id}/prescribe`
          : `/prescriptions/${work.prescriptionId}/change`,
        basedOn: work.basedOn,
        workId: work.workId,
        choosesStarter: isNew,
        starters: isNew ? await listStarters(service, request.clinician.clinicId) : [],
        reason: field(request.fields, 'reason'),
        mayWrite: request.mayWrite,
        isWarned: (await chart.openWarningSince()) !== null,
        ...(await unreadNotesView(service, chart)),
        damaged: await findDamagedNewest(chart, work),
        conflict: more.conflict ?? null,
        refused: refusal(work, more.problems),
        ...(await view(request, open)),
      },
    };
  }

  /** What prevents signing, in a scope separate from the problems of the session. */
  function refusal(work: Work, problems: readonly Problem[] | undefined): object | null {
    if (problems === undefined) return null;
    const [program, catalogue] = [looseProgram(work.content.program), clinicCatalogue(workshop)];
    return { problems: problems.map((each) => placedInForm(each, program, catalogue, service.words)) };
  }

  async function signed(request: AuthenticatedRequest, { chart, work }: OpenWork): Promise<PageReply> {
    const outcome = await signWork(service, request, chart, work, field(request.fields, 'reason'));
    if (outcome.kind === 'signed') {
      prepareSessionsFor(service, chart.clinicId, chart.patient.id);
      return { kind: 'redirect', to: `/prescriptions/${outcome.prescriptionId}` };
    }
    // It was refused because of something that may have arrived in the meantime: the page shows the current state.
    const anew = openChart(service.store, chart.clinicId, chart.patient);
    if (outcome.kind === 'refused')
      return page(
        request,
        { chart: anew, work },
        { problems: withSentences(outcome.refusals, service.words) },
      );
    // Signing again then puts her version on top of the other.
    const { conflict } = outcome;
    return page(request, { chart: anew, work: { ...work, basedOn: conflict.number } }, { conflict });
  }

  async function discarded(request: AuthenticatedRequest, target: WorkTarget): Promise<PageReply> {
    const { patient, prescriptionId } = await discardDraft(service, request, target);
    return {
      kind: 'redirect',
      to: prescriptionId === null ? `/patients/${patient.id}` : `/prescriptions/${prescriptionId}`,
    };
  }

  const routes = new Routes(service);
  for (const [path, isNew] of [
    ['/patients/:id/prescribe', true],
    ['/prescriptions/:id/change', false],
  ] as const) {
    const targetOf = ({ params }: AuthenticatedRequest): WorkTarget => ({ id: params.id ?? '', isNew });
    const saved = (request: AuthenticatedRequest) =>
      saveDraft(service, request, targetOf(request), draftChangeIn(service, request.fields));
    routes
      .authenticatedRoute('get', path, async (request) =>
        page(request, await openDraft(service, request, targetOf(request))),
      )
      .authenticatedRoute('post', path, async (request) => {
        if (field(request.fields, 'do') === 'discard') return discarded(request, targetOf(request));
        const open = await saved(request);
        return field(request.fields, 'do') === 'sign' ? signed(request, open) : page(request, open);
      })
      .authenticatedRoute('post', `${path}/preview`, async (request) => {
        return { kind: 'part', page: 'prescribe-work', view: await view(request, await saved(request)) };
      });
  }
  return routes;
}
