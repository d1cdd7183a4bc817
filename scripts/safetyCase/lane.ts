import path from 'node:path';
import { createVitest, type TestModule, type Vitest } from 'vitest/node';
import { Planter } from './plant.js';
import type { Fault, NearestTest } from './rule.js';

/** What came of the tests that stand nearest to a fault. */
export type Outcome =
  /** A test failed, as it must. */
  | { kind: 'caught'; file: string; test: string }
  /** Every test passed. */
  | { kind: 'survived' }
  /** No test ran, or the file could not even be loaded: that says nothing about the rule. */
  | { kind: 'unfair'; why: string };

/** Runs tests one set after the other in one process, with or without a fault in what they load. */
export class Lane {
  readonly #root: string;
  readonly #planter: Planter;
  readonly #vitest: Vitest;

  private constructor(root: string, planter: Planter, vitest: Vitest) {
    this.#root = root;
    this.#planter = planter;
    this.#vitest = vitest;
  }

  static async open(root: string): Promise<Lane> {
    const planter = new Planter(root);
    const vitest = await createVitest(
      'test',
      {
        ...{ root, config: false, watch: false, silent: true, reporters: [{}] },
        // Each file has a process of its own: nothing of a fault is left for the next one.
        ...{ pool: 'forks', isolate: true, maxWorkers: 1, include: ['tests/**/*.test.ts'] },
        ...{ bail: 1, testTimeout: 120_000, hookTimeout: 120_000, passWithNoTests: true },
      },
      { plugins: [planter.plugin], logLevel: 'silent' },
    );
    return new Lane(root, planter, vitest);
  }

  /** Plants a fault and runs some tests until one fails. */
  async tryFault(fault: Fault, tests: readonly NearestTest[]): Promise<Outcome> {
    this.#planter.fault = fault;
    try {
      return await this.#run(tests, fault);
    } finally {
      this.#planter.fault = null;
      this.#forget(fault);
    }
  }

  /** Runs some tests without a fault. `survived` is what is wanted then. */
  tryNothing(tests: readonly NearestTest[]): Promise<Outcome> {
    return this.#run(tests, null);
  }

  close(): Promise<void> {
    return this.#vitest.close();
  }

  async #run(tests: readonly NearestTest[], fault: Fault | null): Promise<Outcome> {
    if (fault !== null) this.#forget(fault);
    const project = this.#vitest.getRootProject();
    let ranCount = 0;
    for (const test of tests) {
      const { file } = test;
      const specification = project.createSpecification(path.join(this.#root, file), {
        testNamePattern: patternOf(test),
      });
      const { testModules, unhandledErrors } = await this.#vitest.runTestSpecifications([specification]);
      // The others are of earlier runs.
      const module = testModules.find(({ moduleId }) => moduleId === specification.moduleId);
      if (module === undefined) return { kind: 'unfair', why: `${file} was not run` };
      const failed = failedIn(module);
      if (failed !== null) return { kind: 'caught', file, test: failed };
      ranCount += countRun(module);
      if (module.state() === 'failed' || unhandledErrors.length > 0) {
        const [error] = [...module.errors(), ...unhandledErrors];
        return { kind: 'unfair', why: `${file} could not be run: ${messageOf(error)}` };
      }
    }
    return ranCount > 0 ? { kind: 'survived' } : { kind: 'unfair', why: 'no test of these names was run' };
  }

  #forget({ file }: Fault): void {
    this.#vitest.invalidateFile(path.join(this.#root, file));
  }
}

/** The name of a test that failed, or of a group whose preparations did. */
function failedIn(module: TestModule): string | null {
  const [test] = module.children.allTests('failed');
  if (test !== undefined) return test.fullName;
  for (const suite of module.children.allSuites()) {
    if (suite.errors().length > 0) return suite.fullName;
  }
  return null;
}

function countRun(module: TestModule): number {
  return [...module.children.allTests('passed')].length;
}

function messageOf(error: unknown): string {
  return error instanceof Error || (typeof error === 'object' && error !== null && 'message' in error)
    ? String(error.message)
    : String(error);
}

function patternOf({ name = '', isOnSqlite = false }: NearestTest): RegExp {
  return new RegExp(isOnSqlite ? `SQLite.*${escaped(name)}` : escaped(name));
}

function escaped(text: string): string {
  return text.replace(/[.*+?^${}()|[\]\\]/g, '\\$&');
}
