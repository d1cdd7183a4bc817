import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Outcome, WarningGiven } from '../../src/followup/history.js';
import { advised, condition, said, sessions } from './advising.js';
import { days, easy, noonOf, session, version } from './histories.js';

const pumps = [version(1, 0, [{ exercise: 'ankle-pumps' }])];
const kindOf = (today: number, outcomes: Outcome[]) => said(advised(today, { versions: pumps, outcomes }))[0];
/** The last four sessions are looked at; one of them is another. */
const withOne = (at: number, more: Partial<Outcome>, answers = easy) =>
  days(0, 8).map((day) => (day === at ? session(day, answers, more) : session(day)));

describe('ADV-1: what nobody answered', () => {
  it('ADV-1: is not the same as nothing: one pain or effort that is not known leaves the number open', () => {
    for (const [id, unknown] of [
      ['pain', { painAfter: null }],
      ['effort', { effort: null }],
      ['pain-before', { painBefore: null }],
    ] as const) {
      for (const at of [4, 5, 6, 7]) {
        const outcomes = withOne(at, {}, { ...easy, ...unknown });
        const advice = advised(8, { versions: pumps, outcomes });
        expect(condition(advice, id), `${id} on day ${at}`).toMatchObject({ found: null, holds: false });
      }
    }
  });
});

describe('ADV-2: the end of the last exercise', () => {
  /** Heard to a place, without the end of the session. */
  const reached = (day: number, reachedMs: number, done: 'all' | null): Outcome => {
    const { listened, checkIns, ...rest } = session(day, { ...easy, done });
    return {
      ...rest,
      checkIns,
      listened: listened.map((each) => ({ ...each, finishedAtMs: null, reachedMs })),
    };
  };
  // The exercise takes the whole of these sessions, which are fifteen minutes long.
  const endMs = 15 * 60_000;

  it('ADV-2: is heard to the millisecond, or said to be done; nine tenths of the session are not enough', () => {
    const at = (reachedMs: number, done: 'all' | null = null) =>
      kindOf(
        8,
        days(0, 8).map((day) => reached(day, reachedMs, done)),
      );
    expect(at(endMs)).toBe('step-up: all-met');
    expect(at(endMs - 1)).toBe('stay: not-yet');
    expect(at(0.9 * endMs)).toBe('stay: not-yet');
    expect(at(endMs - 1, 'all'), 'all was done, they say').toBe('step-up: all-met');
  });

  it('ADV-2: does not count where somebody says that less was done', () => {
    for (const done of ['most', 'some', 'none'] as const) {
      const advice = advised(8, { versions: pumps, outcomes: withOne(6, {}, { ...easy, done }) });
      expect(condition(advice, 'all-done'), done).toMatchObject({ found: 3, of: 4, holds: false });
    }
  });
});

describe('ADV-3: several warning signs', () => {
  const sign = (day: number, answeredDay: number | null): WarningGiven => ({
    ...{ atMs: noonOf(day), versionNumber: 1, signs: ['dizziness'] },
    answeredAtMs: answeredDay === null ? null : noonOf(answeredDay),
  });
  const signedAgain = (day: number) => [...pumps, version(2, day, [{ exercise: 'ankle-pumps' }])];
  const whyAt = (today: number, warnings: WarningGiven[], versions = pumps) =>
    advised(today, { versions, warnings, outcomes: sessions(0, today) }).whole.why;

  it('ADV-3: one that nobody has answered is enough, whatever became of the others', () => {
    expect(whyAt(40, [sign(5, 6), sign(8, null)], signedAgain(12))).toBe('sign-open');
    expect(whyAt(40, [sign(5, null), sign(8, 9)], signedAgain(12))).toBe('sign-open');
  });

  it('ADV-3: one of two that was answered after the last signature is enough', () => {
    expect(whyAt(40, [sign(5, 6), sign(20, 21)], signedAgain(12))).toBe('sign-since');
    expect(whyAt(40, [sign(5, 6), sign(20, 21)], signedAgain(22))).not.toMatch(/^sign/);
  });

  it('ADV-3: the days count from the last one, in whatever order they are told', () => {
    for (const order of [
      [sign(3, 4), sign(20, 21)],
      [sign(20, 21), sign(3, 4)],
    ]) {
      expect(whyAt(33, order, signedAgain(22))).toBe('sign-recent');
      expect(whyAt(34, order, signedAgain(22))).not.toMatch(/^sign/);
    }
  });
});

describe('ADV-4: pain', () => {
  it('ADV-4: of 8 counts before a session as it does after one', () => {
    const whyAt = (answers: typeof easy) =>
      advised(12, { versions: pumps, outcomes: [...sessions(0, 11), session(11, answers)] });
    const after = whyAt({ ...easy, painBefore: 7, painAfter: 8 });
    const before = whyAt({ ...easy, painBefore: 8, painAfter: 7 });
    for (const { whole } of [after, before]) {
      expect(whole.why).toBe('pain-severe');
      // A mark of its own, so that an answer to earlier pain does not answer this.
      expect(whole.key).toMatch(/pain-severe 2026-01-16#1/);
    }
  });

  it('ADV-4: that is high on two days, not in two sessions of one', () => {
    const twice = (first: number, second: number) => {
      const high = { ...easy, painBefore: 7, painAfter: 6 };
      const morning = session(first, high);
      const evening = { ...session(second, high), slot: `${session(second).day}#2` };
      return advised(12, { versions: pumps, outcomes: [...sessions(0, 8), morning, evening] });
    };
    expect(condition(twice(9, 9), 'high-pain-before-days')).toMatchObject({ found: 1, holds: true });
    expect(condition(twice(8, 9), 'high-pain-before-days')).toMatchObject({ found: 2, holds: false });
  });
});

describe('ADV-8: a long break', () => {
  it('ADV-8: counts up to today, also after the last session of all', () => {
    const gapAt = (today: number) =>
      condition(advised(today, { versions: pumps, outcomes: sessions(0, 8) }), 'gap')?.found;
    fc.assert(
      fc.property(fc.integer({ min: 8, max: 40 }), (today) => {
        expect(gapAt(today)).toBe(today - 7);
      }),
      { numRuns: 20 },
    );
  });
});
