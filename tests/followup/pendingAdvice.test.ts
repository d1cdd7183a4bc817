import { describe, expect, it } from 'vitest';
import { findGravestPendingAdvice, listPendingAdvice } from '../../src/followup/pendingAdvice.js';
import { advised, sessions } from './advising.js';
import { checkIn, easy, missed, noonOf, session } from './histories.js';

const nothingAnswered = () => false;
const gone = advised(12, {
  outcomes: [...sessions(0, 3), ...Array.from({ length: 8 }, (_, day) => missed(day + 3))],
});
const stepUp = advised(8, { outcomes: sessions(0, 8) });
/** All reported as done, of which nothing was heard. */
const contradictory = advised(8, {
  outcomes: [
    ...sessions(0, 7),
    { ...session(7), isContradictory: true, checkIns: [checkIn('one', noonOf(7), easy)] },
  ],
});

describe('what waits for a clinician', () => {
  it('is the gravest of what she is asked about, over all programs', () => {
    expect(findGravestPendingAdvice([stepUp], nothingAnswered)).toBe('step-up');
    expect(findGravestPendingAdvice([stepUp, contradictory], nothingAnswered)).toBe('review');
    expect(findGravestPendingAdvice([advised(1)], nothingAnswered), 'nothing is asked').toBeNull();
  });

  it('is nothing once each piece is answered, and the rest while one is', () => {
    expect(findGravestPendingAdvice([stepUp, contradictory], () => true)).toBeNull();
    expect(findGravestPendingAdvice([stepUp, contradictory], (program) => program === contradictory)).toBe(
      'step-up',
    );
  });

  it('leaves out what stands on the first page under a name of its own', () => {
    expect(listPendingAdvice(gone)).toMatchObject([{ exerciseIndex: null, advice: { why: 'gone-quiet' } }]);
    expect(findGravestPendingAdvice([gone], nothingAnswered)).toBeNull();
  });
});
