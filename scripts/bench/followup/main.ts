/**
 * Measures what the follow-up costs. Prints a table; exits with 1 if a bound is exceeded.
 *
 *     npm run bench:followup
 */
import '../../heartbeat.js';
import { availableParallelism, cpus } from 'node:os';
import { adviceRows } from './advice.js';
import { handoutRows } from './handout.js';
import { pageRows } from './pages.js';

const rows = [...(await adviceRows()), ...(await pageRows()), ...(await handoutRows())];
console.log(`${cpus()[0]?.model}, ${availableParallelism()} cores, Node.js ${process.version}\n`);
console.log('| what | measured | wanted | kept |\n|---|---|---|---|');
for (const { what, measured, wanted, ok } of rows) {
  console.log(`| ${what} | ${measured} | ${wanted} | ${ok ? 'yes' : 'no'} |`);
}
if (rows.some(({ ok }) => !ok)) process.exitCode = 1;
