import { breakSchema, setBreakEnd, startBreak, withdrawBreak } from '../../../clinic/people/breaks.js';
import { readPatient, readPatientDuringWork } from '../../../clinic/people/chart.js';
import { readReach } from '../../../clinic/reminding/reach.js';
import {
  acknowledgeFailures,
  addTextContact,
  reminderRulesSchema,
  removeContact,
  restoreContact,
  setReminderRules,
  textContactSchema,
} from '../../../clinic/reminding/reminders.js';
import { runningPrograms } from '../../../clinic/reminding/runningPrograms.js';
import { parseForm } from '../../../clinic/values.js';
import type { Problem } from '../../../errors/stillcountError.js';
import { timeOfDayInWords } from '../../../prescription/datesInWords.js';
import { usualReminderRules } from '../../../schedule/reminders.js';
import { openWarningSince } from '../../../store/attention/patientChanged.js';
import { breaksOf, type Patient } from '../../../store/people/chart.js';
import { reminderRulesOf } from '../../../store/reminding/reminderRules.js';
import { field } from '../../forms/fields.js';
import { attempt, withSentences } from '../../server/problems.js';
import type { HttpResources } from '../../server/resources.js';
import type { PageResources } from '../../server/routing.js';
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
  service: PageResources & Pick<HttpResources, 'reminderSecrets' | 'channelNames'>,
): Routes {
  const { store, words } = service;

  async function page(
    request: AuthenticatedRequest,
    patient: Patient,
    refused: { form: Form; problems: readonly Problem[] } | null = null,
  ): Promise<PageReply> {
    const { nowMs, mayWrite } = request;
    const { clinicId } = request.clinician;
    const agreedRules = await store.read((db) => reminderRulesOf(db, patient.id));
    const rules = agreedRules ?? usualReminderRules;
    const breaks = await store.read((db) => breaksOf(db, patient.id));
    const people = await store.read((db) => readReach(db, { clinicId, patient, nowMs }));
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
        areUsual: agreedRules === null,
        quietHours:
          rules.quietFrom === rules.quietUntil
            ? null
            : { from: timeOfDayInWords(rules.quietFrom), until: timeOfDayInWords(rules.quietUntil) },
        rules: refused?.form === 'rules' ? request.fields : rules,
        ...(await noNumberView(service, request.clinician)),
        ...(await restView(service, patient, nowMs)),
        ...(await breaksView(service, patient, nowMs)),
        ...newBreakView(refused?.form === 'break' ? request : null),
        ...reachView(
          people,
          service,
          patient.zone,
          typedContact(refused?.form === 'contact' ? request : null),
        ),
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

  function newBreakView(request: AuthenticatedRequest | null): object {
    const typed = (name: string) => (request === null ? '' : field(request.fields, name));
    return {
      addsBreak: request !== null,
      newBreak: { fromDay: typed('fromDay'), untilDay: typed('untilDay'), note: typed('note') },
      breakKinds: Object.entries(words.breakKinds).map(([kind, text]) => ({
        kind,
        words: text,
        selected: kind === typed('kind'),
      })),
    };
  }

  /** Carries out the form's action and shows the page again, with the input if it is refused. */
  async function kept(
    request: AuthenticatedRequest,
    { form, place }: { form: Form; place: string },
    act: (patientId: string) => Promise<void>,
  ): Promise<PageReply> {
    const patientId = request.params.id ?? '';
    const result = await attempt(() => act(patientId));
    if (result.kind === 'refused') {
      const problems = withSentences(result.refusals, words);
      return page(request, await readPatientDuringWork(service, request, patientId), { form, problems });
    }
    return { kind: 'redirect', to: `/patients/${patientId}/reminders#${place}` };
  }

  return new Routes(service)
    .authenticatedRoute('get', '/patients/:id/reminders', async (request) =>
      page(request, await readPatient(service, request, request.params.id ?? '')),
    )
    .authenticatedRoute('post', '/patients/:id/reminders', (request) =>
      kept(request, { form: 'rules', place: 'agreed' }, async (patientId) => {
        const texts = {
          quietFrom: field(request.fields, 'quietFrom'),
          quietUntil: field(request.fields, 'quietUntil'),
        };
        const numbers = {
          graceMinutes: numberIn(request, 'graceMinutes'),
          caregiverAfterMinutes: numberIn(request, 'caregiverAfterMinutes'),
          quietAfterDays: numberIn(request, 'quietAfterDays'),
        };
        await setReminderRules(
          service,
          request,
          patientId,
          parseForm(reminderRulesSchema, { ...texts, ...numbers }),
        );
      }),
    )
    .authenticatedRoute('post', '/patients/:id/breaks', (request) =>
      kept(request, { form: 'break', place: 'breaks' }, async (patientId) => {
        const names = ['kind', 'fromDay', 'untilDay', 'note'];
        const typed = Object.fromEntries(names.map((name) => [name, field(request.fields, name)]));
        await startBreak(service, request, patientId, parseForm(breakSchema, typed));
      }),
    )
    .authenticatedRoute('post', '/patients/:id/breaks/:breakId/end', (request) =>
      kept(request, { form: 'other', place: 'breaks' }, async (patientId) => {
        const last = { id: request.params.breakId ?? '', untilDay: field(request.fields, 'untilDay') };
        await setBreakEnd(service, request, patientId, last);
      }),
    )
    .authenticatedRoute('post', '/patients/:id/breaks/:breakId/take-back', (request) =>
      kept(request, { form: 'other', place: 'breaks' }, (patientId) =>
        withdrawBreak(service, request, patientId, request.params.breakId ?? ''),
      ),
    )
    .authenticatedRoute('post', '/patients/:id/contacts', (request) =>
      kept(request, { form: 'contact', place: 'reached' }, async (patientId) => {
        const to = field(request.fields, 'to');
        const caregiverId = field(request.fields, 'caregiverId') || null;
        await addTextContact(service, request, patientId, parseForm(textContactSchema, { to, caregiverId }));
      }),
    )
    .authenticatedRoute('post', '/patients/:id/contacts/:contactId/end', (request) =>
      kept(request, { form: 'other', place: 'reached' }, (patientId) =>
        removeContact(service, request, patientId, request.params.contactId ?? ''),
      ),
    )
    .authenticatedRoute('post', '/patients/:id/contacts/:contactId/again', (request) =>
      kept(request, { form: 'other', place: 'reached' }, (patientId) =>
        restoreContact(service, request, patientId, request.params.contactId ?? ''),
      ),
    )
    .authenticatedRoute('post', '/patients/:id/reminders/seen', (request) =>
      kept(request, { form: 'other', place: 'sent' }, (patientId) =>
        acknowledgeFailures(service, request, patientId),
      ),
    )
    .authenticatedRoute('post', '/deliveries/seen', async (request) => {
      await acknowledgeFailures(service, request, null);
      return { kind: 'redirect', to: '/' };
    });
}

/** Null for an empty field, which is refused if a number is required. */
function numberIn({ fields }: AuthenticatedRequest, name: string): number | null {
  const typed = field(fields, name);
  return typed === '' ? null : Number(typed);
}

function typedContact(
  request: AuthenticatedRequest | null,
): { caregiverId: string | null; to: string } | null {
  if (request === null) return null;
  return { caregiverId: field(request.fields, 'caregiverId') || null, to: field(request.fields, 'to') };
}
