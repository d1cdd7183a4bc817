import { inputError, StillcountError } from '../../errors/stillcountError.js';
import { type ReadPrescription, readPrescription } from '../../prescription/content.js';
import { differences } from '../../prescription/differences.js';
import { record } from '../../store/audit.js';
import { type DraftPlace, draftAt, dropDraft, keepDraft } from '../../store/drafts.js';
import type { Patient } from '../../store/patients.js';
import { createPrescription, signVersion, versionsOf } from '../../store/prescriptions.js';
import { field } from '../forms/fields.js';
import { applyListAction, contentFromForm } from '../forms/programForm.js';
import { type Answer, type MemberVisit, Routes, requireMayWrite } from '../routing.js';
import type { Service } from '../service.js';
import { starterContent, starters } from '../starters.js';
import { workView } from '../workView.js';
import { patientAtWork, readPatient } from './people.js';
import { addPrescriptionPages, prescriptionAtWork, readOwnPrescription } from './prescriptions.js';

type Content = Readonly<Record<string, unknown>>;
/** What is being worked on. `basedOn` is the version that it began with, 0 for a new prescription. */
type Work = { patient: Patient; prescriptionId: string | null; basedOn: number; content: Content };

const mostContentBytes = 200_000;

/** Prescribing: a new program for a person, or the next version of one. */
export function prescribeRoutes(service: Service): Routes {
  const { store, workshop } = service;

  const placeOf = (
    visit: MemberVisit,
    { patient, prescriptionId }: Pick<Work, 'patient' | 'prescriptionId'>,
  ): DraftPlace => ({
    clinicianId: visit.clinician.id,
    patientId: patient.id,
    prescriptionId,
  });

  /**
   * The person and, for a next version, the prescription that an address names.
   *
   * @param opens whether the page is being opened, which goes on the trail, or worked on
   */
  async function subjectOf(
    visit: MemberVisit,
    isNew: boolean,
    opens: boolean,
  ): Promise<Pick<Work, 'patient' | 'prescriptionId'>> {
    requireMayWrite(visit);
    if (isNew) {
      const patient = await (opens ? readPatient(service, visit) : patientAtWork(service, visit));
      return { patient, prescriptionId: null };
    }
    const find = opens ? readOwnPrescription : prescriptionAtWork;
    const { prescription, patient } = await find(service, visit);
    return { patient, prescriptionId: prescription.id };
  }

  /** Where she left off, else the newest version, else an empty program with the person's name. */
  async function begun(visit: MemberVisit, isNew: boolean): Promise<Work> {
    const subject = await subjectOf(visit, isNew, true);
    const draft = await store.read((db) => draftAt(db, placeOf(visit, subject)));
    if (draft !== null) {
      return { ...subject, basedOn: draft.basedOnNumber, content: JSON.parse(draft.content) };
    }
    const { prescriptionId, patient } = subject;
    const newest =
      prescriptionId === null ? undefined : (await store.read((db) => versionsOf(db, prescriptionId)))[0];
    if (newest !== undefined)
      return { ...subject, basedOn: newest.number, content: JSON.parse(newest.content) };
    const program = { format: 'stillcount-program/1', title: 'Home program', listener: listenerOf(patient) };
    return {
      ...subject,
      basedOn: 0,
      content: {
        format: 'stillcount-prescription/1',
        timesADay: 1,
        daysAWeek: 7,
        program: { ...program, exercises: [] },
      },
    };
  }

  /** The work as the form has it, after what its button asks for; kept as a draft. */
  async function sent(visit: MemberVisit, isNew: boolean): Promise<Work> {
    const subject = await subjectOf(visit, isNew, false);
    const action = field(visit.fields, 'do');
    const form = contentFromForm(visit.fields);
    const content: Content =
      action === 'starter'
        ? await starterContent(workshop, field(visit.fields, 'starter'), listenerOf(subject.patient))
        : applyListAction(form, action, field(visit.fields, 'added'));
    const text = JSON.stringify(content);
    if (text.length > mostContentBytes) {
      throw inputError({ message: 'this program is too large', allowed: `${mostContentBytes} characters` });
    }
    const basedOn = Number(field(visit.fields, 'basedOn')) || 0;
    const draft = { content: text, basedOnNumber: basedOn, updatedAtMs: visit.nowMs };
    await store.write((db) => keepDraft(db, placeOf(visit, subject), draft));
    // Through text and back, so that what is shown is what is kept.
    return { ...subject, basedOn, content: JSON.parse(text) };
  }

  async function heard(visit: MemberVisit, work: Work): Promise<string | null> {
    if (field(visit.fields, 'do') !== 'hear') return null;
    const { program } = readPrescription(work.content, 'this program', workshop.catalogues);
    return `/audio/${await service.hearing.make(visit.clinician.clinicId, program)}.mp3`;
  }

  async function page(
    visit: MemberVisit,
    work: Work,
    more: { conflict?: object; problems?: readonly object[] } = {},
  ): Promise<Answer> {
    const { view } = await workView(work.content, workshop, await heard(visit, work));
    const isNew = work.prescriptionId === null;
    const problems = more.problems === undefined ? {} : { problems: more.problems, hasProblems: true };
    return {
      kind: 'page',
      page: 'prescribe',
      title: `Program for ${work.patient.name}`,
      status: more.conflict !== undefined ? 409 : more.problems !== undefined ? 400 : 200,
      view: {
        heading: `Program for ${work.patient.name}`,
        action: isNew
          ? `/patients/${work.patient.id}/prescribe`
          : `/prescriptions/${work.prescriptionId}/change`,
        basedOn: work.basedOn,
        choosesStarter: isNew,
        starters: await starters(workshop),
        reason: field(visit.fields, 'reason'),
        conflict: more.conflict ?? null,
        ...view,
        ...problems,
      },
    };
  }

  async function sign(visit: MemberVisit, work: Work): Promise<Answer> {
    const reason = field(visit.fields, 'reason');
    let read: ReadPrescription;
    try {
      read = readPrescription(work.content, 'this program', workshop.catalogues);
    } catch (error) {
      if (error instanceof StillcountError) return page(visit, work, { problems: error.problems });
      throw error;
    }
    if (reason === '') {
      return page(visit, work, {
        problems: [{ path: 'why', message: 'please write one sentence for the record' }],
      });
    }
    const { clinicId, id: clinicianId } = visit.clinician;
    const signing = {
      title: read.program.title,
      content: JSON.stringify(work.content),
      reason,
      signedBy: clinicianId,
      nowMs: visit.nowMs,
    };
    const { prescriptionId, patient } = work;
    const signedId = await store.write(async (db) => {
      const id =
        prescriptionId === null
          ? await createPrescription(db, patient.id, signing)
          : (await signVersion(db, prescriptionId, work.basedOn, signing)) === null
            ? null
            : prescriptionId;
      if (id === null) return null;
      await dropDraft(db, placeOf(visit, work));
      const entry = { clinicId, clinicianId, patientId: patient.id, subject: id, atMs: visit.nowMs };
      await record(db, { ...entry, action: 'prescription-signed' });
      return id;
    });
    if (signedId !== null) return { kind: 'redirect', to: `/prescriptions/${signedId}` };
    return conflicted(visit, work, read);
  }

  /** Both versions side by side; signing again then puts hers on top of the other. */
  async function conflicted(visit: MemberVisit, work: Work, mine: ReadPrescription): Promise<Answer> {
    const { prescriptionId } = work;
    const newest =
      prescriptionId === null ? undefined : (await store.read((db) => versionsOf(db, prescriptionId)))[0];
    if (newest === undefined || newest.number === work.basedOn) {
      throw inputError({ message: 'this program has ended; nothing can be signed on top of it' });
    }
    const theirs = readPrescription(JSON.parse(newest.content), 'their version', workshop.catalogues);
    const conflict = {
      by: newest.signedByName,
      number: newest.number,
      prescriptionId,
      differences: differences(theirs, mine),
    };
    return page(visit, { ...work, basedOn: newest.number }, { conflict });
  }

  const routes = new Routes(service);
  for (const [path, isNew] of [
    ['/patients/:id/prescribe', true],
    ['/prescriptions/:id/change', false],
  ] as const) {
    routes
      .member('get', path, async (visit) => page(visit, await begun(visit, isNew)))
      .member('post', path, async (visit) => {
        const work = await sent(visit, isNew);
        return field(visit.fields, 'do') === 'sign' ? sign(visit, work) : page(visit, work);
      })
      .member('post', `${path}/preview`, async (visit) => {
        const work = await sent(visit, isNew);
        const { view } = await workView(work.content, workshop, await heard(visit, work));
        return { kind: 'part', page: 'prescribe-work', view };
      });
  }
  return addPrescriptionPages(routes, service);
}

/** Undefined for somebody who is not to be called by name. */
function listenerOf({ spokenName, sayAs }: Patient): object | undefined {
  return spokenName === '' ? undefined : { name: spokenName, ...(sayAs === '' ? {} : { sayAs }) };
}
