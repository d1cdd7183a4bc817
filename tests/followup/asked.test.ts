import { describe, expect, it } from 'vitest';
import { askedOf, waitingAdvice } from '../../src/followup/asked.js';
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
    expect(waitingAdvice([stepUp], nothingAnswered)).toBe('step-up');
    expect(waitingAdvice([stepUp, contradictory], nothingAnswered)).toBe('review');
    expect(waitingAdvice([advised(1)], nothingAnswered), 'nothing is asked').toBeNull();
  });

  it('is nothing once each piece is answered, and the rest while one is', () => {
    expect(waitingAdvice([stepUp, contradictory], () => true)).toBeNull();
    expect(waitingAdvice([stepUp, contradictory], (program) => program === contradictory)).toBe('step-up');
  });

  it('leaves out what stands on the first page under a name of its own', () => {
    expect(askedOf(gone)).toMatchObject([{ exerciseIndex: null, advice: { why: 'gone-quiet' } }]);
    expect(waitingAdvice([gone], nothingAnswered)).toBeNull();
  });
});
