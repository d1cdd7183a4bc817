import { acceptAdvice, editAdvice, noteOnAdvice } from '../../../clinic/followup/advice.js';
import { patientAtWork, readPatient } from '../../../clinic/people/openRecord.js';
import type { Conflict } from '../../../clinic/prescribing/signing.js';
import { wholeNumber } from '../../../clinic/values.js';
import { StillcountError } from '../../../errors/stillcountError.js';
import type { Patient } from '../../../store/people/patients.js';
import { field } from '../../forms/fields.js';
import type { HttpResources } from '../../server/resources.js';
import { type Answer, type MemberVisit, Routes } from '../../server/routing.js';
import { unreadNotesView } from '../sessions/notesView.js';
import { adviceView, type TypedAnswer } from './adviceView.js';

type Refused = { typed: TypedAnswer; problems: readonly object[]; conflict?: Conflict };

/** Advice on one person's doses: each with its rule and numbers, and accepted, changed or declined here. */
export function adviceRoutes(
  service: Pick<
    HttpResources,
    | 'store'
    | 'workshop'
    | 'pages'
    | 'words'
    | 'assets'
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
  async function page(visit: MemberVisit, patient: Patient, refused: Refused | null = null): Promise<Answer> {
    const { typed = null, problems = [], conflict = null } = refused ?? {};
    return {
      kind: 'page',
      page: 'advice',
      status: refused === null ? 200 : conflict === null ? 400 : 409,
      view: {
        patient,
        mayWrite: visit.mayWrite,
        hasProblems: refused !== null,
        problems,
        isConflict: conflict !== null,
        conflict,
        unsignedWork: typed === null ? null : `/prescriptions/${typed.prescriptionId}/change`,
        ...(await adviceView(service, visit, patient, { typed })),
        ...(await unreadNotesView(service, patient)),
      },
    };
  }

  /** Does what a form asks for, or says what stands against it. */
  async function done(visit: MemberVisit, patient: Patient, typed: TypedAnswer): Promise<Answer | Refused> {
    const to = `/patients/${patient.id}/advice`;
    switch (typed.do) {
      case 'accept': {
        const signed = await acceptAdvice(service, visit, patient, typed, typed.reason);
        if (signed.kind === 'problems') return { typed, problems: signed.problems };
        if (signed.kind === 'conflict') return { typed, problems: [], conflict: signed.conflict };
        return { kind: 'redirect', to: `/prescriptions/${signed.prescriptionId}` };
      }
      case 'edit':
        return { kind: 'redirect', to: await editAdvice(service, visit, patient, typed) };
      case 'decline':
      case 'looked-at': {
        const answer = typed.do === 'decline' ? 'declined' : 'looked-at';
        await noteOnAdvice(service, visit, patient, typed, { answer, reason: typed.reason });
        return { kind: 'redirect', to };
      }
      default:
        return { kind: 'redirect', to };
    }
  }

  return new Routes(service)
    .member('get', '/patients/:id/advice', async (visit) =>
      page(visit, await readPatient(service, visit, visit.params.id ?? '')),
    )
    .member('post', '/patients/:id/advice', async (visit) => {
      const patient = await patientAtWork(service, visit, visit.params.id ?? '');
      const typed = typedIn(visit);
      try {
        const outcome = await done(visit, patient, typed);
        return 'problems' in outcome ? page(visit, patient, outcome) : outcome;
      } catch (error) {
        if (!(error instanceof StillcountError) || error.kind !== 'input') throw error;
        return page(visit, patient, { typed, problems: error.problems });
      }
    });
}

function typedIn({ fields }: MemberVisit): TypedAnswer {
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
