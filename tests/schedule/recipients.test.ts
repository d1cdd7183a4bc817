import { describe, expect, it } from 'vitest';
import { isFor } from '../../src/schedule/recipients.js';

describe('R5: whom a reminder is for', () => {
  it('R5: is the patient at its time, where they agreed, and never of a session that was not begun', () => {
    const patient = (isReminded: boolean) => ({ isPatient: true, isReminded }) as const;
    expect(isFor('due', patient(true))).toBe(true);
    expect(isFor('due', patient(false))).toBe(false);
    expect(isFor('not-begun', patient(true))).toBe(false);
    expect(isFor('not-begun', patient(false))).toBe(false);
  });

  it('R5: is a caregiver as far as was agreed on, each by itself', () => {
    for (const isReminded of [true, false]) {
      for (const toldNotBegun of [true, false]) {
        const caregiver = { isPatient: false, isReminded, toldNotBegun } as const;
        expect(isFor('due', caregiver)).toBe(isReminded);
        expect(isFor('not-begun', caregiver)).toBe(toldNotBegun);
      }
    }
  });
});
