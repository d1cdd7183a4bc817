/** Whether tests that repeat something many times do so at full length: `npm run test:long`. */
export const isLong = process.env.STILLCOUNT_TEST_LONG !== undefined;
