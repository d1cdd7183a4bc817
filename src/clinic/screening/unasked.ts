import { setImmediate } from 'node:timers/promises';
import { type ScreeningAnswers, screeningAnswersSchema, unanswered } from '../../screening/answers.js';
import { isUrgent } from '../../screening/interview.js';
import type { ClinicWorkshop } from '../../session/workshop.js';
import { hasActiveProgram, refreshAttention } from '../../store/attention/patientChanged.js';
import { damagedParts } from '../../store/attention/signed.js';
import { type AnswersInUse, listAnswersInUse, saveIncompleteFlag } from '../../store/attention/unasked.js';
import type { Db } from '../../store/engine/openStore.js';
import type { Resources } from '../resources/resources.js';

const readAtOnce = 100;

/**
 * Marks all patients with an active program whose interview is damaged, or leaves questions open because a release has
 * added some. Runs at startup; several processes may run it.
 *
 * @param isStopping checked between two batches of patients
 */
export async function flagIncompleteScreenings(
  service: Pick<Resources, 'store' | 'workshop' | 'incidents' | 'now'>,
  isStopping: () => boolean = () => false,
): Promise<void> {
  const { store, workshop, now } = service;
  let after = '';
  for (;;) {
    const people = await store.read((db) => listAnswersInUse(db, { after, most: readAtOnce }));
    const last = people.at(-1);
    if (last === undefined || isStopping()) return;
    await tellOfDamaged(service, people);
    const parsed = people.flatMap(({ answers, ...each }) =>
      answers === null ? [] : [{ ...each, answers: screeningAnswersSchema.parse(JSON.parse(answers)) }],
    );
    const open = parsed.filter(({ answers }) => unanswered(answers, workshop.interview).length > 0);
    if (open.length > 0) {
      await store.write(async (db) => {
        for (const each of open) await noteOne(db, workshop, each, now());
      });
    }
    after = last.patientId;
    // Lets page requests run between two batches.
    await setImmediate();
  }
}

/** A patient whose interview is damaged stays on the home page until re-screened. */
async function tellOfDamaged(
  { store, incidents }: Pick<Resources, 'store' | 'incidents'>,
  people: readonly AnswersInUse[],
): Promise<void> {
  for (const { patientId, answers } of people) {
    if (answers !== null) continue;
    incidents.report({ code: 'damaged-record', error: damagedParts.screening, patientId });
    await store.write((db) => refreshAttention(db, patientId));
  }
}

/** The same for one patient, after an interview that left questions open. Runs in its transaction. */
export async function flagOpenQuestions(
  db: Db,
  workshop: Pick<ClinicWorkshop, 'interview'>,
  person: Omit<AnswersInUse, 'answers'> & { answers: ScreeningAnswers },
  nowMs: number,
): Promise<void> {
  if (unanswered(person.answers, workshop.interview).length === 0) return;
  if (await hasActiveProgram(db, person.patientId)) await noteOne(db, workshop, person, nowMs);
}

async function noteOne(
  db: Db,
  { interview }: Pick<ClinicWorkshop, 'interview'>,
  { answers, ...person }: Omit<AnswersInUse, 'answers'> & { answers: ScreeningAnswers },
  nowMs: number,
): Promise<void> {
  const kind = unanswered(answers, interview).some(isUrgent) ? 'questions-urgent' : 'questions-new';
  await saveIncompleteFlag(db, person, { kind, nowMs });
}
