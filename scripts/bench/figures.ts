/**
 * What drawing costs. Prints a table; exit code 1 when a bound is not kept.
 *
 *     npm run bench:figures
 */
import '../heartbeat.js';
import { execFile } from 'node:child_process';
import { availableParallelism, cpus } from 'node:os';
import { promisify } from 'node:util';
import { z } from 'zod';
import { withCompiled } from './compiled.js';

/** What drawing.ts prints. */
const drawingSchema = z.object({
  panels: z.number(),
  firstMs: z.number(),
  drawnMs: z.number(),
  paintedMs: z.number(),
  largestBytes: z.number(),
});

const { panels, firstMs, drawnMs, paintedMs, largestBytes } = await withCompiled(async ({ pathOf, env }) => {
  const { stdout } = await promisify(execFile)(process.execPath, [pathOf('drawing.js')], { env });
  return drawingSchema.parse(JSON.parse(stdout));
});
const rows = [
  { what: 'all figures of a program of 14, median of 51', measured: drawnMs, most: 20, unit: 'ms' },
  { what: 'one panel of them', measured: drawnMs / panels, most: 5, unit: 'ms' },
  { what: 'the largest panel', measured: largestBytes / 1000, most: 8, unit: 'kB' },
];
console.log(`${cpus()[0]?.model}, ${availableParallelism()} cores, Node.js ${process.version}\n`);
console.log('| what | measured | wanted | kept |\n|---|---|---|---|');
for (const { what, measured, most, unit } of rows) {
  const isKept = measured <= most;
  console.log(
    `| ${what} | ${measured.toFixed(1)} ${unit} | at most ${most} ${unit} | ${isKept ? 'yes' : 'no'} |`,
  );
  if (!isKept) process.exitCode = 1;
}
console.log(`\nThe first time in a process: ${firstMs.toFixed(0)} ms.`);
console.log(
  `Painting the same panels takes resvg ${(paintedMs / drawnMs).toFixed(1)} times as long as drawing them.`,
);
