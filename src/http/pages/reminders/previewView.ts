import type { Reached } from '../../../clinic/reminding/reach.js';
import type { RunningProgram } from '../../../clinic/reminding/runningPrograms.js';
import { restMs } from '../../../schedule/plannedStates.js';
import { type PreviewedReminder, previewOf, shownAtMs } from '../../../schedule/preview.js';
import type { ReminderRules } from '../../../schedule/reminders.js';
import { dayOfSlot, weekdaysOffered } from '../../../schedule/slots.js';
import { isoDayIn } from '../../../schedule/wallClock.js';
import type { Patient } from '../../../store/people/chart.js';
import { readSendingFacts } from '../../../store/reminding/readSendingFacts.js';
import { clockTimeInWords, fullDateInWords } from '../../../text/dates.js';
import type { Words } from '../../../text/words.js';
import { dayMs } from '../../../time/units.js';
import type { HttpResources } from '../../server/resources.js';

const previewDays = 14;
/** The number shown at once; the rest is one click away. */
const daysShownFirst = 3;
/** Covers the whole week that a day belongs to. */
const lookBackMs = 8 * dayMs;

type Agreed = Parameters<typeof previewOf>[0]['recipients'][number]['agreed'];
type Recipient = { name: string; over: string; agreed: Agreed };

export type PreviewInput = {
  programs: readonly RunningProgram[];
  people: readonly Reached[];
  rules: ReminderRules;
  patient: Pick<Patient, 'id' | 'zone'>;
  nowMs: number;
  /** A warning sign is unanswered: nothing is sent until then. */
  isHeld: boolean;
};

/** The messages planned for the next days, with recipient and channel, and those that quiet hours hold back. */
export async function previewView(
  service: Pick<HttpResources, 'store' | 'words' | 'channelNames'>,
  input: PreviewInput,
): Promise<object> {
  const { programs, people, rules, nowMs, isHeld } = input;
  const { id: patientId, zone } = input.patient;
  const subjects = { contactIds: [], patientIds: [patientId], prescriptionIds: programs.map(({ id }) => id) };
  const facts = await service.store.read((db) =>
    readSendingFacts(db, subjects, { sinceMs: nowMs - lookBackMs, nowMs }),
  );
  const { notPlayed } = facts;
  const reminders = previewOf({
    programs: (isHeld ? [] : programs.filter(({ id }) => !notPlayed.has(id))).map(({ id, rhythm }) => ({
      ...{ id, rhythm },
      heard: facts.heard.get(id) ?? new Map(),
      isPutOff: (slot: string) =>
        facts.putOff.has(`${id} ${slot}`) || facts.unwellDays.has(`${patientId} ${dayOfSlot(slot)}`),
      restedAtMs: (facts.lastDoneAtMs.get(id) ?? 0) + restMs,
    })),
    recipients: people.flatMap((person) => recipientOf(person, service)),
    ...{ rules, zone, nowMs },
    days: previewDays,
  });
  const titles = new Map(programs.map(({ id, title }) => [id, title]));
  const titleOf = (id: string) => (titles.size > 1 ? (titles.get(id) ?? null) : null);
  const dayOf = (each: (typeof reminders)[number]) => isoDayIn(shownAtMs(each), zone);
  const days = [...new Set(reminders.map(dayOf))].map((day) => ({
    day: fullDateInWords(day),
    lines: reminders
      .filter((each) => dayOf(each) === day)
      .map((each) => lineOf(each, service.words, { zone, title: titleOf(each.programId) })),
  }));
  return {
    isHeld,
    isBeingChecked: notPlayed.size > 0,
    hasProgram: programs.length > 0,
    hasFreeDays: programs.some(({ rhythm }) => rhythm.daysAWeek < weekdaysOffered(rhythm).length),
    hasPreview: days.length > 0,
    firstDays: days.slice(0, daysShownFirst),
    hasLaterDays: days.length > daysShownFirst,
    laterDays: days.slice(daysShownFirst),
    heldBackCount: reminders.filter(({ wouldBeSentAtMs }) => wouldBeSentAtMs === null).length || null,
  };
}

/** Everyone who can be reached over a channel that this installation has. */
function recipientOf(
  { caregiverId, name, isReminded, toldNotBegun, ways }: Reached,
  { channelNames, words }: Pick<HttpResources, 'words' | 'channelNames'>,
): Recipient[] {
  const channels = new Set(ways.map(({ channel }) => channel).filter((each) => channelNames.has(each)));
  if (channels.size === 0) return [];
  const agreed: Agreed =
    caregiverId === null ? { isPatient: true, isReminded } : { isPatient: false, isReminded, toldNotBegun };
  return [{ name, agreed, over: [...channels].map((each) => words.channels[each]).join(', ') }];
}

function lineOf(
  { kind, slotDueAtMs, forAtMs, sendAtMs, wouldBeSentAtMs, recipients }: PreviewedReminder<Recipient>,
  words: Words,
  { zone, title }: { zone: string; title: string | null },
): object {
  const isMoved = kind === 'due' && wouldBeSentAtMs !== null && wouldBeSentAtMs > forAtMs;
  const isRestedFirst = isMoved && wouldBeSentAtMs > (sendAtMs ?? forAtMs);
  return {
    time: clockTimeInWords(wouldBeSentAtMs ?? forAtMs, zone),
    what: words.deliveryKinds[kind],
    isConditional: kind === 'not-begun',
    due: clockTimeInWords(slotDueAtMs, zone),
    title,
    isHeldBack: wouldBeSentAtMs === null,
    movedFrom: isMoved ? clockTimeInWords(forAtMs, zone) : null,
    isRestedFirst,
    recipients: recipients.map(({ name, over }, index) => ({ name, over, isFirst: index === 0 })),
  };
}
