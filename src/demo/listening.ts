import { createHash } from 'node:crypto';
import type { Listener } from '../clinic/listening/listener.js';
import { saveReport } from '../clinic/listening/reports.js';
import type { Resources } from '../clinic/resources/resources.js';
import { timetableOf } from '../prescription/content.js';
import { slotsOf } from '../schedule/slots.js';
import { addDays, isoDayIn, startOfDayMs } from '../schedule/wallClock.js';
import { breaksOf, type Prescription, stateChangesOf, versionsOf } from '../store/people/chart.js';
import { dayMs, minuteMs } from '../time/units.js';
import type { Listens } from './story.js';

const sessionMs = 15 * minuteMs;

/** A number that looks random and is the same in every demo. */
function chance(...about: (string | number)[]): number {
  return createHash('sha256').update(about.join(' ')).digest().readUInt32BE(0) / 2 ** 32;
}

/** An id as a phone would generate it. */
function idOf(...about: (string | number)[]): string {
  const hex = createHash('sha256').update(about.join(' ')).digest('hex');
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-4${hex.slice(13, 16)}-8${hex.slice(17, 20)}-${hex.slice(20, 32)}`;
}

/** Records what a person has listened to and answered since the program began, as the phone would have reported it. */
export async function seedListening(
  service: Pick<Resources, 'store' | 'workshop' | 'reminderSecrets' | 'now'>,
  listener: Listener,
  {
    prescription,
    person: { name, zone },
    listens,
  }: { prescription: Prescription; person: { name: string; zone: string }; listens: Listens },
): Promise<void> {
  const nowMs = service.now();
  const versions = await service.store.read((db) => versionsOf(db, prescription.id));
  const breaks = await service.store.read((db) => breaksOf(db, prescription.patientId));
  const changes = await service.store.read((db) => stateChangesOf(db, prescription.id));
  const firstMs = versions.at(-1)?.signedAtMs ?? nowMs;
  const lastDay = isoDayIn(nowMs, zone);
  let sessionNumber = 1;
  for (let daysAgo = Math.floor((nowMs - firstMs) / dayMs) - 1; daysAgo > 0; daysAgo -= 1) {
    const day = addDays(lastDay, -daysAgo);
    const noonMs = startOfDayMs(day, zone) + 12 * 60 * minuteMs;
    const version = versions.find(({ signedAtMs }) => signedAtMs < noonMs);
    const isRunning = (changes.find(({ atMs }) => atMs < noonMs)?.state ?? 'active') === 'active';
    if (version === undefined || !isRunning) continue;
    for (const [index, { slot, dueAtMs }] of slotsOf(
      { ...timetableOf(version.content), zone, breaks },
      day,
    ).entries()) {
      const lot = (what: string) => chance(what, name, daysAgo, index);
      if (lot('keeps') > listens.keeps) continue;
      const share = (noonMs - firstMs) / (nowMs - firstMs);
      const session = { ...placeOf(prescription, version.number, sessionNumber), slot };
      await tellOne(service, listener, { session, dueAtMs, share, listens, lot });
      sessionNumber += 1;
    }
  }
}

const placeOf = ({ patientId, id }: Prescription, versionNumber: number, sessionNumber: number) => ({
  patientId,
  prescriptionId: id,
  versionNumber,
  sessionNumber,
});

type Session = ReturnType<typeof placeOf> & { slot: string };

async function tellOne(
  service: Pick<Resources, 'store' | 'workshop' | 'reminderSecrets' | 'now'>,
  listener: Listener,
  {
    session,
    dueAtMs,
    share,
    listens,
    lot,
  }: { session: Session; dueAtMs: number; share: number; listens: Listens; lot: (what: string) => number },
): Promise<void> {
  const { prescriptionId, slot } = session;
  const listeningId = idOf('listening', prescriptionId, slot);
  const startMs = dueAtMs + Math.round((lot('start') - 0.3) * 60) * minuteMs;
  const endMs = startMs + sessionMs;
  const step = (name: string, positionMs: number, atMs: number) => ({
    kind: 'step',
    id: idOf(name, prescriptionId, slot),
    listeningId,
    ...session,
    step: name,
    positionMs,
    atMs,
  });
  const [from, to] = listens.pain;
  const pain = from + (to - from) * share + (lot('pain') - 0.5) * 2;
  const scale = (value: number) => Math.max(0, Math.min(10, Math.round(value)));
  const checkIn = {
    kind: 'check-in',
    id: idOf('check-in', prescriptionId, slot),
    listeningId,
    ...session,
    answers: {
      done: 'all',
      painBefore: scale(pain),
      painAfter: scale(pain - 0.6),
      effort: scale(listens.effort + lot('effort')),
      signs: [],
      note: null,
    },
    atMs: endMs + 3 * minuteMs,
  };
  const items = [step('started', 0, startMs), step('finished', sessionMs, endMs)];
  const sentAtMs = checkIn.atMs;
  // Sometimes nobody answers.
  const reported = lot('answers') < 0.85 ? [...items, checkIn] : items;
  await saveReport({ ...service, now: () => sentAtMs }, listener, { sentAtMs, items: reported });
}
