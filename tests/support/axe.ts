import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { RunOptions } from 'axe-core';
import type { Page } from 'playwright-core';

const source = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** The rules of WCAG 2.2, levels A and AA. */
export const wcagTags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];

/**
 * What axe-core finds wrong in a page, in short. It stays in the page, which is often looked at more than once, and
 * describes faults alone: to describe all that is right takes it longer than to look.
 */
export async function axeFaults(page: Page, options: RunOptions): Promise<unknown> {
  if (!(await page.evaluate('"axe" in window'))) await page.evaluate(source);
  const faultsOnly: RunOptions = { ...options, resultTypes: ['violations'] };
  return page.evaluate(`axe.run(document, ${JSON.stringify(faultsOnly)}).then(({ violations }) =>
    violations.flatMap(({ id, nodes }) => nodes.map(({ target }) => id + ': ' + target.join(' '))))`);
}
