import { screeningAnswersSchema } from '../../screening/answers.js';
import { auditTrail } from '../../store/accounts/audit.js';
import { isWholeScreening } from '../../store/attention/signed.js';
import { recordRows } from '../../store/records/record.js';
import type { RecordContext } from './readRecord.js';
import { instantOf, type RecordTableFile, tableOf } from './table.js';

/** The patient, the caregivers, consents and screenings, contacts, and who viewed all that. */
export function peopleTables(context: RecordContext): RecordTableFile[] {
  const { service, patient, nameOf } = context;
  const { store } = service;
  const { id } = patient;
  return [
    tableOf('patient', () => recordRows(store, 'patient', id), {
      id: (row) => row.id,
      name: (row) => row.name,
      spokenName: (row) => row.spokenName,
      sayAs: (row) => row.sayAs,
      birthYear: (row) => row.birthYear,
      language: (row) => row.language,
      zone: (row) => row.zone,
      phone: (row) => row.phone,
      email: (row) => row.email,
      hearingNotes: (row) => row.hearingNotes,
      goals: () => patient.goals.join('\n'),
      createdAt: (row) => instantOf(row.createdAtMs),
    }),
    tableOf('caregivers', () => recordRows(store, 'caregiver', id), {
      id: (row) => row.id,
      name: (row) => row.name,
      relation: (row) => row.relation,
      phone: (row) => row.phone,
      email: (row) => row.email,
      createdAt: (row) => instantOf(row.createdAtMs),
      endedAt: (row) => instantOf(row.endedAtMs),
    }),
    tableOf('consents', () => recordRows(store, 'consent', id), {
      number: (row) => row.number,
      kind: (row) => row.kind,
      caregiverId: (row) => row.caregiverId,
      isGiven: (row) => row.isGiven === 1,
      onDate: (row) => row.onDate,
      note: (row) => row.note,
      clinician: (row) => nameOf(row.clinicianId),
      at: (row) => instantOf(row.atMs),
    }),
    tableOf('screenings', () => screeningAnswers(context), {
      screeningId: (row) => row.screeningId,
      number: (row) => row.number,
      isDamaged: (row) => row.isDamaged,
      question: (row) => row.question,
      asked: (row) => row.asked,
      answer: (row) => row.answer,
      details: (row) => row.details,
      clinician: (row) => nameOf(row.clinicianId),
      at: (row) => instantOf(row.atMs),
    }),
    tableOf('breaks', () => recordRows(store, 'careBreak', id), {
      id: (row) => row.id,
      kind: (row) => row.kind,
      fromDay: (row) => row.fromDay,
      untilDay: (row) => row.untilDay,
      note: (row) => row.note,
      clinician: (row) => nameOf(row.clinicianId),
      createdAt: (row) => instantOf(row.createdAtMs),
      removedAt: (row) => instantOf(row.removedAtMs),
    }),
    tableOf('reminder-rules', () => recordRows(store, 'reminderRules', id), {
      quietFrom: (row) => row.quietFrom,
      quietUntil: (row) => row.quietUntil,
      graceMinutes: (row) => row.graceMinutes,
      caregiverAfterMinutes: (row) => row.caregiverAfterMinutes,
      quietAfterDays: (row) => row.quietAfterDays,
    }),
    tableOf('contacts', () => recordRows(store, 'contact', id), {
      id: (row) => row.id,
      of: (row) => (row.patientId === null ? 'caregiver' : 'patient'),
      channel: (row) => row.channel,
      // What a browser supplies is a key to it, and is not exported.
      address: (row) => (row.channel === 'push' ? null : row.address),
      createdAt: (row) => instantOf(row.createdAtMs),
      endedAt: (row) => instantOf(row.endedAtMs),
      endedWhy: (row) => row.endedWhy,
    }),
    tableOf('messages', () => recordRows(store, 'delivery', id), {
      id: (row) => row.id,
      kind: (row) => row.kind,
      programId: (row) => row.prescriptionId,
      slot: (row) => row.slot,
      subject: (row) => row.subject,
      contactId: (row) => row.contactId,
      caregiverId: (row) => row.caregiverId,
      state: (row) => row.state,
      for: (row) => instantOf(row.forAtMs),
      settledAt: (row) => instantOf(row.settledAtMs),
      why: (row) => row.why,
      isLate: (row) => row.isLate === 1,
    }),
    // Without the secrets that open them.
    tableOf('links', () => recordRows(store, 'listeningLink', id), {
      id: (row) => row.id,
      of: (row) => (row.patientId === null ? 'caregiver' : 'patient'),
      hasPin: (row) => row.pinHash !== null,
      clinician: (row) => nameOf(row.clinicianId),
      createdAt: (row) => instantOf(row.createdAtMs),
      expiresAt: (row) => instantOf(row.expiresAtMs),
      lastSeenAt: (row) => instantOf(row.lastSeenAtMs),
      revokedAt: (row) => instantOf(row.revokedAtMs),
    }),
    tableOf('trail', () => trailOf(context), {
      sequence: (row) => row.sequence,
      action: (row) => row.action,
      subject: (row) => row.subject,
      clinician: (row) => row.clinicianName,
      accessKey: (row) => row.accessKeyName,
      at: (row) => instantOf(row.atMs),
    }),
  ];
}

async function* screeningAnswers({ service, patient }: RecordContext) {
  for await (const row of recordRows(service.store, 'screening', patient.id)) {
    const { id, number, answers, clinicianId, atMs } = row;
    if (!isWholeScreening(row)) {
      const nothing = { question: null, answer: null, details: null, asked: null };
      yield { screeningId: id, number, clinicianId, atMs: null, ...nothing, isDamaged: true };
      continue;
    }
    const answersById = screeningAnswersSchema.parse(JSON.parse(answers));
    for (const [question, { answer, details, asked }] of Object.entries(answersById)) {
      const answerRow = { question, answer, details, asked: asked ?? null };
      yield { screeningId: id, number, clinicianId, atMs, ...answerRow, isDamaged: false };
    }
  }
}

/** Newest first, as the activity log is read. */
async function* trailOf({ service, clinicId, patient }: RecordContext) {
  let before: number | undefined;
  do {
    const from = before === undefined ? {} : { before };
    const { entries, hasMore } = await service.store.read((db) =>
      auditTrail(db, clinicId, { patientId: patient.id, ...from }),
    );
    yield* entries;
    before = hasMore ? entries.at(-1)?.sequence : undefined;
  } while (before !== undefined);
}
