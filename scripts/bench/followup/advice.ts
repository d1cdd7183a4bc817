import { adviceFor } from '../../../src/followup/advice.js';
import type { History, Outcome } from '../../../src/followup/history.js';
import {
  dayOf,
  days,
  easy,
  history,
  missed,
  progression,
  session,
  version,
} from '../../../tests/followup/histories.js';
import { secondsOf } from '../timing.js';
import { type Row, within } from './row.js';

const patients = 10_000;
const mostSeconds = 30;
const year = 365;
/** The number of simulated patients; each is computed again and again, with nothing cached in between. */
const lives = 50;

/** Measures how long the advice takes for everybody in a large clinic, computed from a year of two sessions a day. */
export async function adviceRows(): Promise<Row[]> {
  const histories = days(0, lives).map(yearOf);
  let advised = 0;
  const seconds = await secondsOf(async () => {
    for (let patient = 0; patient < patients; patient += 1) {
      const given = histories[patient % lives];
      if (given !== undefined) advised += adviceFor(given, progression).length;
    }
  });
  if (advised !== patients) throw new RangeError('everybody has one program');
  return [
    within(
      `advice for ${patients} patients, each with a year of two sessions a day`,
      seconds,
      mostSeconds,
      's',
    ),
  ];
}

/** Eight exercises, five versions; every seventh session is missed, every ninth has no answers. */
function yearOf(life: number): History {
  const versions = [0, 60, 120, 180, 240].map((day, index) => {
    const names = [
      'into-bed',
      'head-press',
      'ankle-pumps',
      'heel-press',
      'thigh-press',
      'arm-slides',
      'bridge',
    ];
    const first = { exercise: 'quiet-breathing', dose: { reps: 12 + index } };
    return version(index + 1, day, [...names.map((exercise) => ({ exercise })), first]);
  });
  const outcomes = days(0, year).flatMap((day) => {
    const versionNumber = Math.min(versions.length, Math.floor(day / 60) + 1);
    return [1, 2].map((time) =>
      evening(day, life + 2 * day + time, { versionNumber, slot: `${dayOf(day)}#${time}` }),
    );
  });
  return history(year, { versions, outcomes });
}

function evening(day: number, count: number, more: Partial<Outcome>): Outcome {
  if (count % 7 === 0) return missed(day, more);
  return session(
    day,
    count % 9 === 0 ? null : { ...easy, painBefore: count % 5, painAfter: count % 4 },
    more,
  );
}
