import { defineConfig } from 'vitest/config';

/** The listening tests stand apart: they need a recogniser from outside and use both cores by themselves. */
export default defineConfig({
  test: {
    projects: [
      {
        test: {
          name: 'rooms',
          include: ['tests/**/*.test.ts'],
          exclude: ['tests/listening/**'],
          testTimeout: 60_000,
          hookTimeout: 60_000,
        },
      },
      {
        test: {
          name: 'listening',
          include: ['tests/listening/**/*.test.ts'],
          fileParallelism: false,
          testTimeout: 900_000,
          hookTimeout: 900_000,
        },
      },
    ],
  },
});
