import type { AdviceKind } from '../../../src/followup/adviceParts.js';
import type { CheckInAnswers } from '../../../src/listening/report.js';
import type { Chance } from './chance.js';

/** What somebody does on one day, and how the evening went; the evening of day 0 is the first session. */
type Evening =
  | { did: 'session'; answers: CheckInAnswers | null; hasSign: boolean }
  | { did: 'nothing' }
  | { did: 'put-off' };

/** What the scenario's own rule says must be advised on a morning, worked out from the behavior alone. */
export type Expected = {
  /** The row of the table. */
  when: string;
  kinds: readonly AdviceKind[];
};

/** How a made-up person behaves for a year. */
export type Behaviour = {
  name: string;
  /** When the clinician answers a warning sign, in days after it. */
  answersSignAfter: number;
  /** @param steps how many steps up were signed so far, less those down */
  evening(day: number, steps: number): Evening;
  /** @param signedOn the morning on which the newest version was signed */
  expected(day: number, signedOn: number): Expected;
};

const unmoved: Expected = { when: 'all is well', kinds: ['step-up', 'stay'] };
const session = (answers: CheckInAnswers | null, hasSign = false): Evening => ({
  did: 'session',
  answers,
  hasSign,
});
const well = (pain: number, effort: number): CheckInAnswers => ({
  ...{ done: 'all', painBefore: pain, painAfter: pain, effort, signs: [] },
});

/** Pain eases over the year, effort stays light, now and then a session or an answer is missed. */
function improves(chance: Chance): Behaviour {
  const start = chance.between(2, 5);
  return {
    name: 'improves',
    answersSignAfter: 1,
    evening: (day) => {
      if (chance.percent(5)) return { did: 'nothing' };
      const pain = Math.max(0, start - Math.floor(day / 60));
      return session(chance.percent(3) ? null : well(pain, chance.between(2, 3)));
    },
    expected: () => unmoved,
  };
}

/** Two steps up are borne; after that everything costs more effort than is meant, though not far more. */
function stalls(chance: Chance): Behaviour {
  let isHardSince: number | null = null;
  return {
    name: 'stalls',
    answersSignAfter: 1,
    evening: (day, steps) => {
      if (steps >= 2 && isHardSince === null) isHardSince = day;
      return session(well(1, isHardSince === null ? 3 : chance.between(5, 6)));
    },
    expected: (day) =>
      isHardSince !== null && day > isHardSince
        ? { when: 'more effort than is meant', kinds: ['stay'] }
        : unmoved,
  };
}

/** For some months every fourth session is overdone: pain rises by three points and is still there the next day. */
function overDoes(chance: Chance): Behaviour {
  const from = chance.between(20, 60);
  const until = from + chance.between(60, 120);
  const putOff: number[] = [];
  const isSore = (day: number) => day >= from && day < until;
  return {
    name: 'over-does',
    answersSignAfter: 1,
    evening: (day) => {
      const phase = isSore(day) ? (day - from) % 4 : 2;
      if (phase === 0) return session({ ...well(2, 4), painAfter: 5 });
      if (phase === 1 && chance.percent(30)) {
        putOff.push(day);
        return { did: 'put-off' };
      }
      return session(phase === 1 ? { ...well(5, 4), painAfter: 3 } : well(2, 3));
    },
    expected: (day, signedOn) => {
      if (putOff.filter((each) => each >= day - 14).length >= 2) {
        return { when: 'put off in pain more than once', kinds: ['review'] };
      }
      // Twice, and the day after the second: on the sixth morning of it.
      const isTwice = day >= Math.max(from, signedOn) + 10;
      if (isSore(day - 1) && isTwice) return { when: 'sore again and again', kinds: ['step-down', 'review'] };
      if (day > from && day <= until + 2) {
        return { when: 'sore lately', kinds: ['stay', 'step-down', 'review'] };
      }
      // Two weeks on, sore days are no longer counted; before that, less or waiting is right, and more is not wrong
      // once the sessions since then have been well.
      return day > from && day <= until + 14
        ? { when: 'sore days not long ago', kinds: ['stay', 'step-down', 'review', 'step-up'] }
        : unmoved;
    },
  };
}

/**
 * For some weeks pain is very high, before sessions and after them, and on some days too high to begin; no session makes
 * it rise. Before and after that all is well.
 */
function hurts(chance: Chance): Behaviour {
  const from = chance.between(20, 150);
  const until = from + chance.between(10, 80);
  const [high, putOff]: [Set<number>, Set<number>] = [new Set(), new Set()];
  const lately = (days: ReadonlySet<number>, day: number) =>
    [...days].filter((each) => each >= day - 14 && each < day).length;
  return {
    name: 'hurts',
    answersSignAfter: 1,
    evening: (day) => {
      if (day < from || day >= until) return session(well(2, 3));
      const isPutOff = chance.percent(25);
      (isPutOff ? putOff : high).add(day);
      return isPutOff ? { did: 'put-off' } : session(well(8, 3));
    },
    expected: (day) => {
      // Pain of 8 asks for a look even once.
      if (lately(high, day) >= 1 || lately(putOff, day) >= 2) return { when: 'much pain', kinds: ['review'] };
      // One day that was put off tells little: no more is given until four sessions since have been well.
      if (day > from && day < until) return { when: 'the first such day', kinds: ['stay', 'review'] };
      return unmoved;
    },
  };
}

/** Does everything, then nothing from one day to the next; half of them come back after some weeks. */
function goesQuiet(chance: Chance): Behaviour {
  const from = chance.between(30, 200);
  const back = chance.percent(50) ? from + chance.between(20, 50) : Number.POSITIVE_INFINITY;
  return {
    name: 'goes quiet',
    answersSignAfter: 1,
    evening: (day) => (day >= from && day < back ? { did: 'nothing' } : session(well(1, 3))),
    expected: (day) => {
      if (day < from) return unmoved;
      // The last session was the evening before `from`; after that many whole days without one, it is a week.
      if (day <= back && day - from >= 7) return { when: 'quiet for a week or more', kinds: ['review'] };
      if (day <= back) {
        // Up to five days after the last session what it showed still counts.
        const kinds = day - (from - 1) > 5 ? (['stay'] as const) : (['stay', 'step-up'] as const);
        return { when: 'quiet for some days', kinds };
      }
      return day - back < 28 ? { when: 'back again', kinds: ['stay', 'review', 'step-up'] } : unmoved;
    },
  };
}

/** Once in the year a warning sign; answered sooner or later, and signed anew when that is asked for. */
function hasSign(chance: Chance): Behaviour {
  const on = chance.between(30, 250);
  return {
    name: 'has a warning sign',
    answersSignAfter: chance.between(1, 20),
    evening: (day) => session(day === on ? { ...well(1, 3), signs: ['dizziness'] } : well(1, 3), day === on),
    expected: (day, signedOn) => {
      if (day <= on) return unmoved;
      const isReleased = day - on >= 14 && signedOn > on;
      return isReleased ? unmoved : { when: 'a warning sign', kinds: ['review'] };
    },
  };
}

/** Does everything and answers nothing. */
function saysNothing(): Behaviour {
  return {
    name: 'says nothing',
    answersSignAfter: 1,
    evening: () => session(null),
    expected: () => ({ when: 'no answers', kinds: ['stay'] }),
  };
}

/** Two hundred people, each with a life of their own. */
export function twoHundred(chanceFor: (person: number) => Chance): Behaviour[] {
  const makers = [improves, stalls, overDoes, goesQuiet, hasSign, hasSign, hurts, saysNothing];
  return Array.from({ length: 200 }, (_, person) => {
    const make = makers[person % makers.length] ?? saysNothing;
    return make(chanceFor(person));
  });
}
