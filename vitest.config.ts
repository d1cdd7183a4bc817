import { defineConfig } from 'vitest/config';
import { SlowFirst } from './tests/slowFirst.js';

/** Far more than what is waited for ever takes: on a machine that is busy with other work, all takes many times as long. */
const patience = { poll: { timeout: 60_000 } };

/**
 * The rooms keep both cores busy by themselves. Those in a browser play sound in real time, and leave some of the cores to
 * others, as long as these give way: beside them `npm test` runs those that mostly wait, for a clock that nobody hastens.
 * The listening tests need a recognizer from outside and no database, and run first, while one is compiled.
 */
export default defineConfig({
  test: {
    // One less than the cores would be the rule, and on two cores one of them would stand idle for a quarter of an hour.
    maxWorkers: 2,
    sequence: { sequencer: SlowFirst },
    projects: [
      {
        test: {
          name: 'rooms',
          expect: patience,
          globalSetup: ['tests/compile.ts', 'tests/leftBehind.ts'],
          // Two more than the cores: a third of the time they wait, for processes that they started and for answers.
          maxWorkers: 4,
          sequence: { groupOrder: 2 },
          include: ['tests/**/*.test.ts'],
          exclude: ['tests/listening/**', 'tests/**/*.{browser,waiting}.test.ts'],
          // Files share what they load: read anew for each of them it would be a fifth of the time. So a file leaves
          // nothing behind that the next one could see; what it changes in the process it puts back.
          isolate: false,
          // Far more than any test takes: on a machine that is busy with other work, all take many times as long.
          testTimeout: 180_000,
          hookTimeout: 240_000,
        },
      },
      {
        test: {
          name: 'browser',
          expect: patience,
          include: ['tests/**/*.browser.test.ts'],
          // As for the rooms; and more workers than cores, as what is played in real time leaves a core half idle.
          isolate: false,
          maxWorkers: 4,
          sequence: { groupOrder: 1 },
          testTimeout: 180_000,
          hookTimeout: 120_000,
        },
      },
      {
        test: {
          name: 'waiting',
          expect: patience,
          globalSetup: ['tests/compile.ts'],
          include: ['tests/**/*.waiting.test.ts'],
          testTimeout: 180_000,
          hookTimeout: 120_000,
        },
      },
      {
        test: {
          name: 'listening',
          expect: patience,
          include: ['tests/listening/**/*.test.ts'],
          testTimeout: 3_600_000,
          hookTimeout: 900_000,
        },
      },
    ],
  },
});
