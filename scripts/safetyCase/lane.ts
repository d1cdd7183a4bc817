import path from 'node:path';
import { createVitest, type TestModule, type Vitest } from 'vitest/node';
import { Planter } from './plant.js';
import type { Fault, NearestTest } from './rule.js';

/** The result of the tests nearest to a fault. */
export type Outcome =
  /** A test failed, as it must. */
  | { kind: 'caught'; file: string; test: string }
  /** Every test passed. */
  | { kind: 'survived' }
  /** No test ran, or the file did not even load: that says nothing about the rule. */
  | { kind: 'unfair'; why: string };

/** Runs sets of tests one after the other in one process, with or without a planted fault. */
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
        // Each file runs in a separate process, so that no fault carries over to the next one.
        ...{ pool: 'forks', isolate: true, maxWorkers: 1, include: ['tests/**/*.test.ts'] },
        // As for the rooms: far longer than any test takes, so that a slow machine never counts as a caught fault.
        ...{ bail: 1, testTimeout: 180_000, hookTimeout: 240_000, passWithNoTests: true },
      },
      { plugins: [planter.plugin], logLevel: 'silent' },
    );
    return new Lane(root, planter, vitest);
  }

  /** Plants a fault and runs tests until one fails. */
  async tryFault(fault: Fault, tests: readonly NearestTest[]): Promise<Outcome> {
    this.#planter.fault = fault;
    try {
      return await this.#run(tests, fault);
    } finally {
      this.#planter.fault = null;
      this.#forget(fault);
    }
  }

  /** Runs tests without a fault. The expected outcome is `survived`. */
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
      // The other modules are from earlier runs.
      const module = testModules.find(({ moduleId }) => moduleId === specification.moduleId);
      if (module === undefined) return { kind: 'unfair', why: `${file} was not run` };
      const failed = failedIn(module);
      const broken = [...(failed?.errors ?? []), ...module.errors(), ...unhandledErrors].find(isBrokenCode);
      if (broken !== undefined) return { kind: 'unfair', why: `no such code can be: ${messageOf(broken)}` };
      if (failed !== null) return { kind: 'caught', file, test: failed.name };
      if (!module.ok()) return { kind: 'caught', file, test: 'what it prepares before its tests' };
      ranCount += [...module.children.allTests('passed')].length;
    }
    return ranCount > 0 ? { kind: 'survived' } : { kind: 'unfair', why: 'no test of these names was run' };
  }

  #forget({ file }: Fault): void {
    this.#vitest.invalidateFile(path.join(this.#root, file));
  }
}

/** Returns a failed test, or a group whose setup failed, with its errors. */
function failedIn(module: TestModule): { name: string; errors: readonly unknown[] } | null {
  const [test] = module.children.allTests('failed');
  if (test !== undefined) return { name: test.fullName, errors: test.result().errors ?? [] };
  for (const suite of module.children.allSuites()) {
    const errors = suite.errors();
    if (errors.length > 0) return { name: suite.fullName, errors };
  }
  return null;
}

/**
 * A fault that is not valid code, or refers to something that does not exist, fails any test and says nothing about the
 * rule.
 */
function isBrokenCode(error: unknown): boolean {
  const name = typeof error === 'object' && error !== null && 'name' in error ? error.name : '';
  return (
    name === 'SyntaxError' ||
    name === 'ReferenceError' ||
    /Transform failed|PARSE_ERROR/.test(messageOf(error))
  );
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
