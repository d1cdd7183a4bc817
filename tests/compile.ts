import type { TestProject } from 'vitest/node';
import { compile } from '../scripts/build/compile.js';

/** The projects whose tests start what is compiled. */
const started = ['rooms', 'waiting'];

/**
 * Compiles the project once for the tests that start it as a process of its own, as it is installed: hundreds of
 * starts from the source would compile it hundreds of times. While tests are watched, it is compiled again before each
 * further run, so that none starts an earlier build.
 */
export default async function compileForTests(project: TestProject): Promise<void> {
  await compile();
  project.onTestsRerun(async (files) => {
    // Projects are told at the same time, and one build serves them all.
    const first = files.find(({ project: { name } }) => started.includes(name));
    if (first?.project.name === project.name) await compile();
  });
}
