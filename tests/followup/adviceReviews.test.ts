import { describe, expect, it } from 'vitest';
import { adviceFor } from '../../src/followup/advice.js';
import type { AdviceReason } from '../../src/followup/adviceParts.js';
import type { Outcome, WarningGiven } from '../../src/followup/history.js';
import { advised, condition, said, sessions } from './advising.js';
import { days, easy, history, missed, noonOf, progression, session, version } from './histories.js';

const sign = (day: number, answeredDay: number | null): WarningGiven => ({
  atMs: noonOf(day),
  versionNumber: 1,
  signs: ['dizziness'],
  answeredAtMs: answeredDay === null ? null : noonOf(answeredDay),
});
const review = (why: AdviceReason) => ({ kind: 'review', why });

describe('advice to look at a program', () => {
  const good = sessions(0, 30);

  it('comes first for a warning sign, until it is answered, two weeks are over and she has signed since', () => {
    const at = (
      today: number,
      warnings: WarningGiven[],
      versions = [version(1, 0, [{ exercise: 'ankle-pumps' }])],
    ) => advised(today, { outcomes: sessions(0, today), warnings, versions });
    expect(at(12, [sign(11, null)]).whole).toMatchObject(review('sign-open'));
    expect(at(40, [sign(5, null)]).whole, 'however old').toMatchObject(review('sign-open'));
    expect(at(12, [sign(10, 11)]).whole).toMatchObject(review('sign-recent'));
    expect(at(23, [sign(10, 11)]).whole).toMatchObject(review('sign-recent'));
    expect(at(24, [sign(10, 11)]).whole).toMatchObject(review('sign-since'));
    const again = [
      version(1, 0, [{ exercise: 'ankle-pumps' }]),
      version(2, 12, [{ exercise: 'ankle-pumps' }]),
    ];
    expect(at(23, [sign(10, 11)], again).whole).toMatchObject(review('sign-recent'));
    expect(at(24, [sign(10, 11)], again).whole).toMatchObject({ kind: 'step-up' });
    expect(said(at(12, [sign(11, null)]))).toEqual(['review: program']);
  });

  it('knows a sign of another program, and one that was only ticked after a session', () => {
    const { programs, ...rest } = history(30, { outcomes: good });
    const [own] = programs;
    if (own === undefined) throw new RangeError('one program runs');
    const other = { ...own, prescriptionId: 'other', state: 'ended' as const, warnings: [sign(29, null)] };
    const [advice, ...none] = adviceFor({ ...rest, programs: [own, other] }, progression);
    expect(none, 'what has ended is not advised on').toEqual([]);
    expect(advice?.whole).toMatchObject(review('sign-open'));
    const ticked = [...sessions(0, 29), session(29, { ...easy, signs: ['dizziness'] })];
    expect(advised(30, { outcomes: ticked }).whole).toMatchObject(review('sign-open'));
    const answered = { outcomes: ticked, warnings: [{ ...sign(29, 30), answeredAtMs: noonOf(30) }] };
    expect(advised(31, answered).whole).toMatchObject(review('sign-recent'));
  });

  it('comes for reports that do not fit each other', () => {
    const with7 = (last: Outcome) => advised(8, { outcomes: [...sessions(0, 7), last] }).whole;
    expect(with7(session(7, easy, { isContradictory: true }))).toMatchObject(review('contradictory'));
    const nothingYetPain = { ...easy, done: 'none', painBefore: 2, painAfter: 9 } as const;
    expect(with7(session(7, nothingYetPain))).toMatchObject(review('contradictory'));
  });

  it('comes when somebody has gone quiet: to speak with them, not to give them less', () => {
    const quiet = (from: number, today: number) =>
      advised(today, { outcomes: [...sessions(0, from), ...days(from, today).map((day) => missed(day))] })
        .whole;
    expect(quiet(21, 28)).toMatchObject(review('gone-quiet'));
    expect(quiet(21, 27)).toMatchObject({ kind: 'stay' });
    const back = [...sessions(0, 10), ...sessions(24, 27)];
    expect(said(advised(27, { outcomes: back }))[0], 'after a break').toBe('stay: not-yet');
    const rest = days(21, 34).map((day) => missed(day, { kind: 'excused', excuse: 'off-plan' }));
    expect(advised(34, { outcomes: [...sessions(0, 21), ...rest] }).whole.why, 'a break').not.toBe(
      'gone-quiet',
    );
  });

  it('comes when so little was done that even the interval’s upper end is too low', () => {
    // Wilson, 95 %: 3 of 12 reaches up to 0.532, 5 of 12 to 0.680.
    const nowAndThen = (done: readonly number[]) =>
      advised(12, { outcomes: days(0, 12).map((day) => (done.includes(day) ? session(day) : missed(day))) })
        .whole;
    expect(nowAndThen([3, 7, 11])).toMatchObject(review('too-little-done'));
    expect(nowAndThen([1, 3, 5, 8, 11]).kind).toBe('stay');
  });

  it('comes when today’s catalogue cannot say the program any more', () => {
    const versions = [
      { ...version(1, 0, [{ exercise: 'ankle-pumps' }]), exercises: null, exerciseEndsMs: [] },
    ];
    expect(advised(8, { versions, outcomes: sessions(0, 8) }).whole).toMatchObject(review('unreadable'));
  });

  it('comes when pain creeps up from session to session, each of which looks well', () => {
    const pains = [1, 1, 1, 1, 2, 2, 2, 3, 3, 3];
    const outcomes = pains.map((pain, day) => session(day, { ...easy, painBefore: pain, painAfter: pain }));
    const advice = advised(10, { outcomes });
    expect(said(advice)[0]).toBe('review: pain-creeps');
    expect(condition(advice, 'pain-course')).toMatchObject({ found: 2, wanted: 2, holds: false });
    expect(advice.painCourse, 'the first week and the last have days in common').toBeNull();
  });

  it('about pain that creeps up is asked again when there is a point more of it, or after two weeks', () => {
    const versions = [1, 2].map((number) =>
      version(number, (number - 1) * 10, [{ exercise: 'ankle-pumps', dose: { reps: 5 * number } }]),
    );
    const keyOn = (today: number, pains: (day: number) => number) => {
      const outcomes = days(0, today).map((day) => {
        const answers = { ...easy, painBefore: pains(day), painAfter: pains(day) };
        return session(day, answers, { versionNumber: day < 10 ? 1 : 2 });
      });
      const { exercises } = advised(today, { versions, outcomes });
      expect(exercises[0]).toMatchObject(review('pain-creeps'));
      return exercises[0]?.key;
    };
    // As much as in the first week, so that the program as a whole is not worse.
    const crept = (day: number) => (day < 10 ? 3 : day < 14 ? 1 : 3);
    const key = keyOn(20, crept);
    expect(keyOn(21, crept), 'not after each session').toBe(key);
    expect(
      keyOn(22, (day) => (day < 18 ? crept(day) : 4)),
      'it went on',
    ).not.toBe(key);
    expect(keyOn(24, crept), 'two weeks after the dose began').not.toBe(key);
  });

  it('comes when pain before sessions is shown as worse than in the first week, also at a dose that is well borne', () => {
    // Farrar et al. 2001, Pain 94:149: 2 points; for pain that grew that is our choice.
    const grown = (to: number) => {
      const versions = [1, 2].map((number) =>
        version(number, (number - 1) * 10, [{ exercise: 'ankle-pumps', dose: { reps: 5 * number } }]),
      );
      const outcomes = days(0, 24).map((day) => {
        const pain = day < 8 ? 1 : to;
        const answers = { ...easy, painBefore: pain, painAfter: pain };
        return session(day, answers, { versionNumber: day < 10 ? 1 : 2 });
      });
      return (today: number) => advised(today, { versions, outcomes: outcomes.slice(0, today) });
    };
    expect(grown(2)(24).whole).toMatchObject({ kind: 'step-up' });
    const worse = grown(3)(24);
    expect(worse.painCourse).toEqual({ from: 1, to: 3, change: 'worse' });
    expect(worse.whole).toMatchObject(review('pain-worse'));
    expect(said(worse)).toEqual(['review: program']);
    expect(condition(worse, 'pain-since-begin')).toMatchObject({ found: 2, wanted: 2, holds: false });
    // 5 and 19 January 2026 are Mondays (ISO 8601), and begin stretches of two weeks.
    const keys = days(16, 25).map((today) => grown(3)(today).whole.key);
    expect(new Set(keys).size, 'it lasts: asked again as such a stretch begins').toBeLessThanOrEqual(2);
  });

  it('comes when pain is very high after sessions, though it never rises, or rises steeply once', () => {
    const pains = (...told: [number, number][]) =>
      advised(8 + told.length, {
        outcomes: [
          ...sessions(0, 8),
          ...told.map(([painBefore, painAfter], index) =>
            session(8 + index, { ...easy, painBefore, painAfter }),
          ),
        ],
      }).whole;
    expect(pains([7, 7]).why).not.toBe('pain-high');
    expect(pains([6, 6], [6, 6]).why).not.toBe('pain-high');
    expect(pains([7, 7], [7, 7])).toMatchObject(review('pain-high'));
    expect(pains([2, 5]).why).not.toBe('pain-high');
    expect(pains([2, 6])).toMatchObject(review('pain-high'));
    const again = [pains([2, 6]), pains([2, 6], [2, 2]), pains([2, 6], [2, 6])].map(({ key }) => key);
    expect(again[1], 'nothing new').toBe(again[0]);
    expect(again[2], 'once more').not.toBe(again[0]);
    const later = advised(25, {
      outcomes: [...sessions(0, 8), session(8, { ...easy, painAfter: 6 }), ...sessions(9, 25)],
    });
    expect(later.whole, 'more than two weeks ago').toMatchObject({ kind: 'step-up' });
  });

  it('comes when sessions are put off in pain or unwell on two days within two weeks, and anew for each more', () => {
    const putOff = (day: number, why: 'pain' | 'unwell' | 'no-time') =>
      why === 'no-time'
        ? missed(day, { putOff: why })
        : missed(day, { kind: 'excused', excuse: 'unwell', putOff: why });
    const on = (reasons: Readonly<Record<number, 'pain' | 'unwell' | 'no-time'>>, today = 20) =>
      advised(today, {
        outcomes: days(0, today).map((day) => {
          const why = reasons[day];
          return why === undefined ? session(day) : putOff(day, why);
        }),
      });
    expect(on({ 12: 'pain' }).whole.why).not.toBe('put-off-unwell');
    expect(on({ 12: 'pain', 14: 'no-time' }).whole.why).not.toBe('put-off-unwell');
    const twice = on({ 6: 'pain', 14: 'unwell' });
    expect(twice.whole).toMatchObject(review('put-off-unwell'));
    expect(condition(twice, 'unwell-days')).toMatchObject({ found: 2, wanted: 1, holds: false });
    expect(on({ 5: 'pain', 14: 'unwell' }).whole.why, 'too long ago').not.toBe('put-off-unwell');
    expect(on({ 6: 'pain', 14: 'unwell' }, 19).whole.key, 'answered for').toBe(twice.whole.key);
    expect(on({ 6: 'pain', 14: 'unwell', 19: 'pain' }).whole.key, 'once more').not.toBe(twice.whole.key);
    const everyDay = on({ 16: 'pain', 17: 'pain', 18: 'pain', 19: 'unwell' });
    expect(everyDay.whole, 'an answer each day, so not quiet').toMatchObject(review('put-off-unwell'));
    const twiceADay = [putOff(12, 'pain'), { ...putOff(12, 'pain'), slot: '2026-01-17#2' }];
    const sameDay = advised(20, { outcomes: [...sessions(0, 12), ...twiceADay, ...sessions(13, 20)] });
    expect(sameDay.whole.why, 'one day').not.toBe('put-off-unwell');
  });

  it('leaves a step down on offer while pain is to be looked at', () => {
    const versions = [version(1, 0, [{ exercise: 'ankle-pumps', dose: { reps: 15 } }])];
    const told = [
      { ...easy, painAfter: 7 },
      { ...easy, painBefore: 6, painAfter: 7 },
      { ...easy, painAfter: 7 },
      { ...easy, painBefore: 6, painAfter: 7 },
    ];
    const advice = advised(4, { versions, outcomes: told.map((answers, day) => session(day, answers)) });
    expect(advice.whole).toMatchObject(review('pain-high'));
    expect(said(advice)).toEqual(['step-down: pain-stays']);
  });
});

describe('what was answered', () => {
  it('about one thing is asked again when another comes on top of it', () => {
    const keyOf = (...last: Outcome[]) =>
      advised(10, { outcomes: [...sessions(0, 10 - last.length), ...last], warnings: [sign(5, 6)] }).whole;
    const putOff = (day: number) => missed(day, { kind: 'excused', excuse: 'unwell', putOff: 'pain' });
    const [alone, withMore] = [keyOf(), keyOf(putOff(8), putOff(9))];
    expect(alone).toMatchObject(review('sign-recent'));
    expect(withMore).toMatchObject(review('sign-recent'));
    expect(withMore.key).not.toBe(alone.key);
    const steep = (day: number, painAfter: number) => session(day, { ...easy, painAfter });
    const high = keyOf(steep(6, 8), steep(7, 8), session(8), session(9));
    expect(keyOf(steep(6, 8), steep(7, 8), session(8), steep(9, 6)).key, 'steep, not that high').not.toBe(
      high.key,
    );
  });

  it('is asked again after two weeks where a step is still due, and not before', () => {
    const keys = days(8, 36).map(
      (today) => advised(today, { outcomes: sessions(0, today) }).exercises[0]?.key,
    );
    expect(new Set(keys.slice(0, 6)).size, 'days 8 to 13').toBe(1);
    expect(new Set(keys.slice(6, 20)).size, 'days 14 to 27').toBe(1);
    expect(new Set(keys).size).toBe(3);
  });

  it('is asked again in another fortnight while too little is done', () => {
    const little = (today: number) =>
      advised(today, {
        outcomes: days(0, today).map((day) => (day % 4 === 3 ? session(day) : missed(day))),
      }).whole;
    expect(days(28, 60).map((today) => little(today).why)).toEqual(days(28, 60).map(() => 'too-little-done'));
    // Each fortnight begins on a Monday, as weeks do (ISO 8601); day 0 is one.
    const changes = days(29, 60).filter((today) => little(today).key !== little(today - 1).key);
    for (const [index, day] of changes.entries()) {
      expect(day % 7).toBe(0);
      expect(day - (changes[index - 1] ?? day - 14)).toBe(14);
    }
    expect(changes.length).toBeGreaterThanOrEqual(2);
  });

  it('is asked again after one more session that was far too hard', () => {
    const hard = (...efforts: number[]) =>
      advised(efforts.length, {
        versions: [version(1, 0, [{ exercise: 'ankle-pumps', dose: { reps: 15 } }])],
        outcomes: efforts.map((effort, day) => session(day, { ...easy, effort })),
      }).exercises[0];
    expect(hard(3, 7, 7)).toMatchObject({ kind: 'step-down', why: 'too-hard' });
    expect(hard(3, 7, 7)?.key).not.toBe(hard(3, 7, 7, 7)?.key);
  });
});
