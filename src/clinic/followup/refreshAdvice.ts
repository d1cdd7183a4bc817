import { setImmediate } from 'node:timers/promises';
import { findGravestPendingAdvice } from '../../followup/pendingAdvice.js';
import { runTasksByClock } from '../../reminders/runTasksByClock.js';
import {
  claimAdvising,
  listPatientsToAdvise,
  mayBeAdvised,
  saveWaitingAdvice,
  type ToLookAt,
} from '../../store/attention/adviceWatch.js';
import { hourMs } from '../../time/units.js';
import { chartById } from '../people/chart.js';
import type { AdviceResources } from './advice.js';
import { computeAdvice, isAnswerTo } from './advice.js';

/** A tick is only a prompt to look: the database knows whose advice has to be recomputed. */
const tenSeconds = { everyMs: 10_000, times: '5-59/10 * * * * *' };
const takenAtOnce = 100;
/** Advice changes as days pass, even if nothing is reported. */
const againAfterMs = 20 * hourMs;
/** Before this, too few sessions can have been missed to say anything. */
const firstLookMs = 24 * hourMs;
/** When a failed computation is retried. */
const afterFailureMs = hourMs;

/**
 * Recomputes advice wherever something changed or a day has passed, and stores what waits for a clinician. It may be
 * called at any time, and by several processes.
 *
 * @param isStopping checked between two patients
 */
async function lookAtAdvice(
  service: AdviceResources,
  onFailure: (what: string, error: unknown) => void,
  isStopping: () => boolean = () => false,
): Promise<void> {
  const { store, now } = service;
  for (;;) {
    const taken = await store.read((db) => listPatientsToAdvise(db, now(), takenAtOnce));
    if (taken.length === 0) return;
    for (const one of taken) {
      if (isStopping()) return;
      await lookAtOne(service, one).catch(async (error: unknown) => {
        onFailure('advice not worked out', error);
        await store.write((db) => claimAdvising(db, one.patientId, now() + afterFailureMs));
      });
      // Lets page requests run between two patients.
      await setImmediate();
    }
  }
}

/** @returns a function that stops it and waits for work in progress */
export function refreshAdviceByClock(
  service: AdviceResources,
  onFailure: (what: string, error: unknown) => void,
): () => Promise<void> {
  let isStopping = false;
  const work = () => lookAtAdvice(service, onFailure, () => isStopping);
  const { end, settled } = runTasksByClock(
    [{ ...tenSeconds, stillAfterMs: null, what: 'advice not looked at', work }],
    onFailure,
  );
  return async () => {
    isStopping = true;
    await end();
    await settled();
  };
}

async function lookAtOne(service: AdviceResources, { patientId, clinicId }: ToLookAt): Promise<void> {
  const { store, now } = service;
  // Cleared before reading, so that anything reported in the meantime triggers another computation.
  await store.write((db) => claimAdvising(db, patientId, now() + againAfterMs));
  // Reading a history lays out its sessions, so it is skipped for patients who have only just been given a program.
  if (!(await store.read((db) => mayBeAdvised(db, patientId, now() - firstLookMs)))) return;
  const { programs, answers } = await computeAdvice(service, await chartById(store, clinicId, patientId));
  const waits = findGravestPendingAdvice(
    programs,
    ({ prescriptionId, versionNumber }, { exerciseIndex, advice }) => {
      const named = { prescriptionId, versionNumber, exerciseIndex, key: advice.key };
      return answers.some((answer) => answer.answer !== 'edited' && isAnswerTo(answer, named));
    },
  );
  await store.write((db) => saveWaitingAdvice(db, patientId, { waits, nowMs: now() }));
}
