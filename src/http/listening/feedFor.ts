import type { Listener } from '../../clinic/listening/listener.js';
import type { PlaybackResources } from '../../clinic/listening/notPlayable.js';
import { planFor } from '../../clinic/listening/planFor.js';
import { playableProgram } from '../../clinic/listening/sessions.js';
import type { FeedItem } from '../../documents/feed.js';
import type { PlannedPerson, PlannedSession } from '../../listening/plan.js';
import { timeInWords } from '../../text/dates.js';
import type { HttpResources } from '../server/resources.js';

/**
 * Today's sessions, and the next one, as a feed. It contains only what may be played: nothing while a warning sign is
 * unanswered, and nothing from a program that is paused or ended.
 *
 * @param address of the feed, without `.xml`; its files are below it
 */
export async function feedFor(
  service: PlaybackResources &
    Pick<HttpResources, 'store' | 'pages' | 'shelf' | 'reminderSecrets' | 'channelNames' | 'now'>,
  listener: Listener,
  address: string,
): Promise<string> {
  const { pages } = service;
  const { people, clinic } = await planFor(service, listener);
  const [person] = people;
  const items: FeedItem[] = [];
  for (const session of person === undefined || person.isHeld ? [] : offered(person)) {
    const item = await itemFor(service, listener, session, { address, zone: person?.zone ?? 'UTC', clinic });
    if (item !== null) items.push(item);
  }
  const { isHeld, isBeingChecked } = person ?? {};
  const view = { name: person?.spokenName, clinic, isHeld, isBeingChecked: !isHeld && isBeingChecked };
  // The XML writer is loaded for the first feed: a service starts without it.
  const { feedOf } = await import('../../documents/feed.js');
  return feedOf({
    title: pages.part('feed-title', view).trim(),
    description: pages.part('feed-about', view).trim(),
    address,
    language: 'en',
    items,
  });
}

/** Today's that were not skipped, and the first one after them. */
function offered({ day, sessions }: PlannedPerson): PlannedSession[] {
  const open = sessions.filter(({ state }) => state !== 'skipped' && state !== 'missed');
  const today = open.filter(({ slot }) => slot.startsWith(day));
  const next = open.find(({ slot }) => !slot.startsWith(day));
  return next === undefined ? today : [...today, next];
}

async function itemFor(
  service: Pick<HttpResources, 'store' | 'pages' | 'shelf' | 'versions' | 'now'>,
  listener: Listener,
  session: PlannedSession,
  { address, zone, clinic }: { address: string; zone: string; clinic: object },
): Promise<FeedItem | null> {
  const patientIds = listener.patients.map(({ patientId }) => patientId);
  const playable = await playableProgram(service, { clinicId: listener.clinicId, patientIds }, session);
  if (playable === null) return null;
  const { durationMs, byteLength } = await service.shelf.session(listener, playable.program);
  const { prescriptionId, versionNumber, sessionNumber, slot, title, dueAtMs } = session;
  const place = `${prescriptionId}/${versionNumber}/${sessionNumber}/${slot.replace('#', '-')}`;
  const file = (name: string) => `${address}/${place}/${name}`;
  const view = { title, when: timeInWords(dueAtMs, zone), clinic };
  return {
    id: place,
    title: service.pages.part('feed-item-title', view).trim(),
    description: service.pages.part('feed-item-about', view).trim(),
    pubAtMs: dueAtMs,
    durationMs,
    audio: { address: file('session.mp3'), byteLength },
    chaptersAddress: file('chapters.json'),
    captionsAddress: file('session.vtt'),
    wordsAddress: file('session.txt'),
  };
}
