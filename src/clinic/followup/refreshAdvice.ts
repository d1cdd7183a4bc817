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

/** A tick is only a reason to look: whose advice is to be worked out stands in the database. */
const tenSeconds = { everyMs: 10_000, times: '5-59/10 * * * * *' };
const takenAtOnce = 100;
/** Days go by, and with them what is advised, also where nothing is told. */
const againAfterMs = 20 * hourMs;
/** Until then too little can have been missed to say anything. */
const firstLookMs = 24 * hourMs;
/** One that failed is tried again then. */
const afterFailureMs = hourMs;

/**
 * Works out what is advised wherever something changed, or a day went by, and writes down what of it waits for a
 * clinician. It may be called at any time, also by several processes.
 *
 * @param isStopping asked between two patients
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
      // The pages have their turn between two patients.
      await setImmediate();
    }
  }
}

/** @returns a function that ends it and waits for what is under way */
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
  // Taken before it is read: what is told meanwhile has it worked out once more.
  await store.write((db) => claimAdvising(db, patientId, now() + againAfterMs));
  // To read a history lays its sessions out: not for everybody who has just been given a program.
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
