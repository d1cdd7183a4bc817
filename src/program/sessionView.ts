import type { LegPosture } from '../catalogue/posture.js';
import type { SetUp } from '../catalogue/setUp.js';
import type { View } from '../catalogue/template.js';
import type { PrescribedProgram } from './prescribed.js';

/** Returns the values that every sentence of a session may use, spoken or shown: the listener, and their set-up. */
export function sessionView(
  { catalogue: { phrases }, listener, session }: PrescribedProgram,
  setUp: SetUp,
  legs: LegPosture,
): View {
  return {
    name: listener?.name,
    firstSession: session.number === 1,
    surface: phrases.setUp.surface[setUp.surface],
    headSupport: phrases.setUp.headSupport[setUp.headSupport],
    kneesStraight: legs === 'straight',
    kneesBent: legs === 'bent',
    kneesOverPillow: legs === 'over-pillow',
  };
}
