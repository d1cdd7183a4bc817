import { dayOf } from '../../../clinic/actor.js';
import { asSigned } from '../../../clinic/prescribing/asSigned.js';
import {
  damagedNewest,
  discardDraft,
  openDraft,
  saveDraft,
  type Work,
  type WorkTarget,
} from '../../../clinic/prescribing/drafts.js';
import { type Conflict, sign } from '../../../clinic/prescribing/signing.js';
import { starters } from '../../../clinic/prescribing/starters.js';
import { clinicCatalogue, readOrNull } from '../../../clinic/screening/findings.js';
import { looseProgram } from '../../../clinic/screening/looseProgram.js';
import { openQuestions, screeningOf, type TakenScreening } from '../../../clinic/screening/screening.js';
import type { Problem } from '../../../errors/stillcountError.js';
import { precautionsOf } from '../../../screening/answers.js';
import { openWarningSince } from '../../../store/attention/openWarning.js';
import { field } from '../../forms/fields.js';
import type { HttpResources } from '../../server/resources.js';
import { type Answer, type MemberVisit, Routes } from '../../server/routing.js';
import { unreadNotesView } from '../sessions/notesView.js';
import { searchOf } from './catalogueView.js';
import { placedInForm } from './sessionView.js';
import { draftChangeIn } from './workForm.js';
import { workView } from './workView.js';

/** Prescribing: a new program for a person, or the next version of one. */
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

  async function view(visit: MemberVisit, work: Work): Promise<object> {
    const screening = await service.store.read((db) => screeningOf(db, work.patient.id));
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

  /** Null while nothing is to be heard, or cannot be: the page then says what stands against it. */
  async function heard(
    visit: MemberVisit,
    { content }: Work,
    screening: TakenScreening | null,
  ): Promise<string | null> {
    if (field(visit.fields, 'do') !== 'hear') return null;
    const read = readOrNull(asSigned(content, screening?.answers ?? null, workshop, dayOf(visit)), workshop);
    if (read === null) return null;
    return `/audio/${await service.hearing.make(visit.clinician.clinicId, read.program)}.mp3`;
  }

  async function page(
    visit: MemberVisit,
    work: Work,
    more: { conflict?: Conflict; problems?: readonly Problem[] } = {},
  ): Promise<Answer> {
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
        isWarned: (await service.store.read((db) => openWarningSince(db, work.patient.id))) !== null,
        ...(await unreadNotesView(service, work.patient)),
        damaged: await damagedNewest(service, work),
        conflict: more.conflict ?? null,
        refused: refusal(work, more.problems),
        ...(await view(visit, work)),
      },
    };
  }

  /** What stands against signing, in a scope of its own beside the problems of the session. */
  function refusal(work: Work, problems: readonly Problem[] | undefined): object | null {
    if (problems === undefined) return null;
    const [program, catalogue] = [looseProgram(work.content.program), clinicCatalogue(workshop)];
    return { problems: problems.map((each) => placedInForm(each, program, catalogue, service.words)) };
  }

  async function signed(visit: MemberVisit, work: Work): Promise<Answer> {
    const outcome = await sign(service, visit, work, field(visit.fields, 'reason'));
    if (outcome.kind === 'signed') {
      return { kind: 'redirect', to: `/prescriptions/${outcome.prescriptionId}` };
    }
    if (outcome.kind === 'problems') return page(visit, work, { problems: outcome.problems });
    // Signing again then puts hers on top of the other.
    const { conflict } = outcome;
    return page(visit, { ...work, basedOn: conflict.number }, { conflict });
  }

  async function discarded(visit: MemberVisit, target: WorkTarget): Promise<Answer> {
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
    const targetOf = ({ params }: MemberVisit): WorkTarget => ({ id: params.id ?? '', isNew });
    const saved = (visit: MemberVisit) =>
      saveDraft(service, visit, targetOf(visit), draftChangeIn(service, visit.fields));
    routes
      .member('get', path, async (visit) => page(visit, await openDraft(service, visit, targetOf(visit))))
      .member('post', path, async (visit) => {
        if (field(visit.fields, 'do') === 'discard') return discarded(visit, targetOf(visit));
        const work = await saved(visit);
        return field(visit.fields, 'do') === 'sign' ? signed(visit, work) : page(visit, work);
      })
      .member('post', `${path}/preview`, async (visit) => {
        const work = await saved(visit);
        return { kind: 'part', page: 'prescribe-work', view: await view(visit, work) };
      });
  }
  return routes;
}
