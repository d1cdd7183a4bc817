import { breakSchema, setLastDay, startBreak, takeBreakBack } from '../../../clinic/people/breaks.js';
import { patientAtWork, readPatient } from '../../../clinic/people/openRecord.js';
import { attempt } from '../../../clinic/refusals.js';
import { reachOf } from '../../../clinic/reminding/reach.js';
import {
  addTextContact,
  agreeOnRules,
  reminderRulesSchema,
  removeContact,
  seeFailures,
  sendThereAgain,
  textContactSchema,
} from '../../../clinic/reminding/reminders.js';
import { runningPrograms } from '../../../clinic/reminding/runningPrograms.js';
import { parsedForm } from '../../../clinic/values.js';
import type { Problem } from '../../../errors/stillcountError.js';
import { timeOfDayInWords } from '../../../prescription/datesInWords.js';
import { usualReminderRules } from '../../../schedule/reminders.js';
import { openWarningSince } from '../../../store/attention/openWarning.js';
import { breaksOf } from '../../../store/people/careBreaks.js';
import type { Patient } from '../../../store/people/patients.js';
import { reminderRulesOf } from '../../../store/reminding/reminderRules.js';
import { field } from '../../forms/fields.js';
import { withSentences } from '../../server/problems.js';
import type { HttpResources } from '../../server/resources.js';
import { type AuthenticatedRequest, type PageReply, Routes } from '../../server/routing.js';
import { breaksView, restView } from './breaksView.js';
import { monthsView } from './monthsView.js';
import { noNumberView } from './noNumberView.js';
import { previewView } from './previewView.js';
import { reachView } from './reachView.js';
import { sentView } from './sentView.js';

/** The form that was refused, so that nothing of it is lost. */
type Form = 'rules' | 'break' | 'contact' | 'other';

/** A patient's reminders: consents, contacts, breaks, planned and sent messages. */
export function reminderRoutes(
  service: Pick<
    HttpResources,
    'store' | 'pages' | 'words' | 'assets' | 'reminderSecrets' | 'channelNames' | 'now' | 'https'
  >,
): Routes {
  const { store, words } = service;

  async function page(
    visit: AuthenticatedRequest,
    patient: Patient,
    refused: { form: Form; problems: readonly Problem[] } | null = null,
  ): Promise<PageReply> {
    const { nowMs, mayWrite } = visit;
    const { clinicId } = visit.clinician;
    const kept = await store.read((db) => reminderRulesOf(db, patient.id));
    const rules = kept ?? usualReminderRules;
    const breaks = await store.read((db) => breaksOf(db, patient.id));
    const people = await store.read((db) => reachOf(db, { clinicId, patient, nowMs }));
    const running = { id: patient.id, clinicId, zone: patient.zone };
    const programs = await store.read((db) => runningPrograms(db, running, breaks));
    const isHeld = (await store.read((db) => openWarningSince(db, patient.id))) !== null;
    const about = { patientId: patient.id, patientName: patient.name, zone: patient.zone, nowMs };
    return {
      kind: 'page',
      page: 'reminders',
      status: refused === null ? 200 : 400,
      view: {
        patient,
        mayWrite,
        hasProblems: refused !== null,
        problems: refused === null ? [] : worded(refused.problems),
        areUsual: kept === null,
        quietHours:
          rules.quietFrom === rules.quietUntil
            ? null
            : { from: timeOfDayInWords(rules.quietFrom), until: timeOfDayInWords(rules.quietUntil) },
        rules: refused?.form === 'rules' ? visit.fields : rules,
        ...(await noNumberView(service, visit.clinician)),
        ...(await restView(service, patient, nowMs)),
        ...(await breaksView(service, patient, nowMs)),
        ...newBreakView(refused?.form === 'break' ? visit : null),
        ...reachView(people, service, patient.zone, typedContact(refused?.form === 'contact' ? visit : null)),
        ...monthsView({ programs, breaks, words }, { zone: patient.zone, nowMs }),
        ...(await previewView(service, { programs, people, rules, patient, nowMs, isHeld })),
        ...(await sentView(service, about)),
      },
    };
  }

  /** The names of fields as shown on the page. */
  function worded(problems: readonly Problem[]): object[] {
    return problems.map(({ path, ...rest }) => ({
      ...rest,
      path: path === undefined ? path : (words.reminderFields[path] ?? path),
    }));
  }

  function newBreakView(visit: AuthenticatedRequest | null): object {
    const typed = (name: string) => (visit === null ? '' : field(visit.fields, name));
    return {
      addsBreak: visit !== null,
      newBreak: { fromDay: typed('fromDay'), untilDay: typed('untilDay'), note: typed('note') },
      breakKinds: Object.entries(words.breakKinds).map(([kind, text]) => ({
        kind,
        words: text,
        selected: kind === typed('kind'),
      })),
    };
  }

  /** Does what a form requests and shows the page again: with the input if it is refused. */
  async function kept(
    visit: AuthenticatedRequest,
    { form, place }: { form: Form; place: string },
    act: (patientId: string) => Promise<void>,
  ): Promise<PageReply> {
    const patientId = visit.params.id ?? '';
    const result = await attempt(() => act(patientId));
    if (result.kind === 'refused') {
      const problems = withSentences(result.refusals, words);
      return page(visit, await patientAtWork(service, visit, patientId), { form, problems });
    }
    return { kind: 'redirect', to: `/patients/${patientId}/reminders#${place}` };
  }

  return new Routes(service)
    .authenticatedRoute('get', '/patients/:id/reminders', async (visit) =>
      page(visit, await readPatient(service, visit, visit.params.id ?? '')),
    )
    .authenticatedRoute('post', '/patients/:id/reminders', (visit) =>
      kept(visit, { form: 'rules', place: 'agreed' }, async (patientId) => {
        const texts = {
          quietFrom: field(visit.fields, 'quietFrom'),
          quietUntil: field(visit.fields, 'quietUntil'),
        };
        const numbers = {
          graceMinutes: numberIn(visit, 'graceMinutes'),
          caregiverAfterMinutes: numberIn(visit, 'caregiverAfterMinutes'),
          quietAfterDays: numberIn(visit, 'quietAfterDays'),
        };
        await agreeOnRules(
          service,
          visit,
          patientId,
          parsedForm(reminderRulesSchema, { ...texts, ...numbers }),
        );
      }),
    )
    .authenticatedRoute('post', '/patients/:id/breaks', (visit) =>
      kept(visit, { form: 'break', place: 'breaks' }, async (patientId) => {
        const names = ['kind', 'fromDay', 'untilDay', 'note'];
        const typed = Object.fromEntries(names.map((name) => [name, field(visit.fields, name)]));
        await startBreak(service, visit, patientId, parsedForm(breakSchema, typed));
      }),
    )
    .authenticatedRoute('post', '/patients/:id/breaks/:breakId/end', (visit) =>
      kept(visit, { form: 'other', place: 'breaks' }, async (patientId) => {
        const last = { id: visit.params.breakId ?? '', untilDay: field(visit.fields, 'untilDay') };
        await setLastDay(service, visit, patientId, last);
      }),
    )
    .authenticatedRoute('post', '/patients/:id/breaks/:breakId/take-back', (visit) =>
      kept(visit, { form: 'other', place: 'breaks' }, (patientId) =>
        takeBreakBack(service, visit, patientId, visit.params.breakId ?? ''),
      ),
    )
    .authenticatedRoute('post', '/patients/:id/contacts', (visit) =>
      kept(visit, { form: 'contact', place: 'reached' }, async (patientId) => {
        const to = field(visit.fields, 'to');
        const caregiverId = field(visit.fields, 'caregiverId') || null;
        await addTextContact(service, visit, patientId, parsedForm(textContactSchema, { to, caregiverId }));
      }),
    )
    .authenticatedRoute('post', '/patients/:id/contacts/:contactId/end', (visit) =>
      kept(visit, { form: 'other', place: 'reached' }, (patientId) =>
        removeContact(service, visit, patientId, visit.params.contactId ?? ''),
      ),
    )
    .authenticatedRoute('post', '/patients/:id/contacts/:contactId/again', (visit) =>
      kept(visit, { form: 'other', place: 'reached' }, (patientId) =>
        sendThereAgain(service, visit, patientId, visit.params.contactId ?? ''),
      ),
    )
    .authenticatedRoute('post', '/patients/:id/reminders/seen', (visit) =>
      kept(visit, { form: 'other', place: 'sent' }, (patientId) => seeFailures(service, visit, patientId)),
    )
    .authenticatedRoute('post', '/deliveries/seen', async (visit) => {
      await seeFailures(service, visit, null);
      return { kind: 'redirect', to: '/' };
    });
}

/** Null for an empty field, which is refused if a number is required. */
function numberIn({ fields }: AuthenticatedRequest, name: string): number | null {
  const typed = field(fields, name);
  return typed === '' ? null : Number(typed);
}

function typedContact(visit: AuthenticatedRequest | null): { caregiverId: string | null; to: string } | null {
  if (visit === null) return null;
  return { caregiverId: field(visit.fields, 'caregiverId') || null, to: field(visit.fields, 'to') };
}
