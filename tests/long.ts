import { type WholeCheck, wholeSetting } from '../scripts/test/wholeChecks.js';

/** Whether a check that `npm test` shortens is wanted whole: all are by `npm run test:long`. */
export function isWhole(check: WholeCheck): boolean {
  const wanted = process.env[wholeSetting]?.split(',') ?? [];
  return wanted.includes('yes') || wanted.includes(check);
}
