import { dayOf } from '../../../clinic/actor.js';
import { makeAheadFor } from '../../../clinic/listening/makeAhead.js';
import { openChart } from '../../../clinic/people/chart.js';
import {
  damagedNewest,
  discardDraft,
  type OpenWork,
  openDraft,
  saveDraft,
  type Work,
  type WorkTarget,
} from '../../../clinic/prescribing/drafts.js';
import { type Conflict, sign } from '../../../clinic/prescribing/signing.js';
import { starters } from '../../../clinic/prescribing/starters.js';
import type { Problem } from '../../../errors/stillcountError.js';
import { asSigned } from '../../../prescription/asSigned.js';
import { looseProgram } from '../../../prescription/looseProgram.js';
import { clinicCatalogue, readOrNull } from '../../../prescription/programFindings.js';
import { precautionsOf } from '../../../screening/answers.js';
import { openQuestions, type TakenScreening } from '../../../screening/takenScreening.js';
import { field } from '../../forms/fields.js';
import { withSentences } from '../../server/problems.js';
import type { HttpResources } from '../../server/resources.js';
import { type AuthenticatedRequest, type PageReply, Routes } from '../../server/routing.js';
import { unreadNotesView } from '../sessions/notesView.js';
import { searchOf } from './catalogueView.js';
import { placedInForm } from './sessionView.js';
import { draftChangeIn } from './workForm.js';
import { workView } from './workView.js';

/** Prescribing: a new program for a patient, or the next version of one. */
export function prescribeRoutes(
  service: Pick<
    HttpResources,
    | 'store'
    | 'workshop'
    | 'pages'
    | 'words'
    | 'assets'
    | 'hearing'
    | 'shelf'
    | 'lengths'
    | 'versions'
    | 'reminderSecrets'
    | 'channelNames'
    | 'life'
    | 'incidents'
    | 'now'
    | 'https'
  >,
): Routes {
  const { workshop } = service;

  async function view(visit: AuthenticatedRequest, { chart, work }: OpenWork): Promise<object> {
    const screening = await chart.screening();
    const beside = {
      screening: screening?.answers ?? null,
      search: searchOf(visit.fields),
      audio: await heard(visit, work, screening),
      today: dayOf(visit),
    };
    const precautions = precautionsOf(screening?.answers ?? {}, workshop.interview).map(({ id, name }) => ({
      name,
      details: screening?.answers[id]?.details,
    }));
    const asked = screening === null ? [] : openQuestions(screening, workshop, visit.nowMs);
    const openNames = asked.length > 5 ? [...asked.slice(0, 5), '…'] : asked;
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
    visit: AuthenticatedRequest,
    { content }: Work,
    screening: TakenScreening | null,
  ): Promise<string | null> {
    if (field(visit.fields, 'do') !== 'hear') return null;
    const read = readOrNull(asSigned(content, screening?.answers ?? null, workshop, dayOf(visit)), workshop);
    if (read === null) return null;
    return `/audio/${await service.hearing.make(visit.clinician.clinicId, read.program)}.mp3`;
  }

  async function page(
    visit: AuthenticatedRequest,
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
        starters: isNew ? await starters(service, visit.clinician.clinicId) : [],
        reason: field(visit.fields, 'reason'),
        mayWrite: visit.mayWrite,
        isWarned: (await chart.openWarningSince()) !== null,
        ...(await unreadNotesView(service, chart)),
        damaged: await damagedNewest(chart, work),
        conflict: more.conflict ?? null,
        refused: refusal(work, more.problems),
        ...(await view(visit, open)),
      },
    };
  }

  /** What prevents signing, in a scope separate from the problems of the session. */
  function refusal(work: Work, problems: readonly Problem[] | undefined): object | null {
    if (problems === undefined) return null;
    const [program, catalogue] = [looseProgram(work.content.program), clinicCatalogue(workshop)];
    return { problems: problems.map((each) => placedInForm(each, program, catalogue, service.words)) };
  }

  async function signed(visit: AuthenticatedRequest, { chart, work }: OpenWork): Promise<PageReply> {
    const outcome = await sign(service, visit, chart, work, field(visit.fields, 'reason'));
    if (outcome.kind === 'signed') {
      makeAheadFor(service, chart.clinicId, chart.patient.id);
      return { kind: 'redirect', to: `/prescriptions/${outcome.prescriptionId}` };
    }
    // It was refused because of something that may have arrived in the meantime: the page shows the current state.
    const anew = openChart(service.store, chart.clinicId, chart.patient);
    if (outcome.kind === 'refused')
      return page(visit, { chart: anew, work }, { problems: withSentences(outcome.refusals, service.words) });
    // Signing again then puts her version on top of the other.
    const { conflict } = outcome;
    return page(visit, { chart: anew, work: { ...work, basedOn: conflict.number } }, { conflict });
  }

  async function discarded(visit: AuthenticatedRequest, target: WorkTarget): Promise<PageReply> {
    const { patient, prescriptionId } = await discardDraft(service, visit, target);
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
    const saved = (visit: AuthenticatedRequest) =>
      saveDraft(service, visit, targetOf(visit), draftChangeIn(service, visit.fields));
    routes
      .authenticatedRoute('get', path, async (visit) =>
        page(visit, await openDraft(service, visit, targetOf(visit))),
      )
      .authenticatedRoute('post', path, async (visit) => {
        if (field(visit.fields, 'do') === 'discard') return discarded(visit, targetOf(visit));
        const open = await saved(visit);
        return field(visit.fields, 'do') === 'sign' ? signed(visit, open) : page(visit, open);
      })
      .authenticatedRoute('post', `${path}/preview`, async (visit) => {
        return { kind: 'part', page: 'prescribe-work', view: await view(visit, await saved(visit)) };
      });
  }
  return routes;
}
