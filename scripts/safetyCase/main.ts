// Plants every fault of the safety case, one by one, and runs the tests nearest to it. Exits with 1 if a fault
// survives, a test fails without a fault, or a case no longer matches the code.
import { mkdtempSync, rmSync } from 'node:fs';
import { availableParallelism, tmpdir } from 'node:os';
import path from 'node:path';
import { Command } from 'commander';
import { runConcurrently } from '../../src/time/runConcurrently.js';
import { subjects } from './cases.js';
import { Lane, type Outcome } from './lane.js';
import { lineOf } from './plant.js';
import type { Fault, NearestTest, Rule } from './rule.js';
import { staleCases } from './stale.js';

const root = path.resolve(import.meta.dirname, '../..');
const mostLanes = 2;

const {
  only,
  subject,
  faultsOnly = false,
} = new Command('safety-case')
  .option('--only <ids>', 'rules to try, by their ids, with commas between')
  .option('--subject <names>', `subjects to try: ${subjects.map(({ name }) => name).join(', ')}`)
  .option('--faults-only', 'leave out the first run without a fault, which has to pass')
  .parse()
  .opts<{ only?: string; subject?: string; faultsOnly?: true }>();

type Job = { rule: Rule; fault: Fault; tests: readonly NearestTest[] };
type Done = Job & { outcome: Outcome; seconds: number };

const startedMs = performance.now();
const ids = only?.split(',');
const names = subject?.split(',');
const rules = subjects
  .filter(({ name }) => names === undefined || names.includes(name))
  .flatMap((each) => each.rules)
  .filter(({ id }) => ids === undefined || ids.includes(id));
const jobs = rules.flatMap((rule) =>
  rule.faults.map((fault): Job => ({ rule, fault, tests: fault.tests ?? rule.tests })),
);
const stale = staleCases(root, subjects, new Set(rules.map(({ id }) => id)));
for (const problem of stale) console.log(`stale: ${problem}`);
if (jobs.length === 0) console.log('There is no such rule or subject.');
const folder = mkdtempSync(path.join(tmpdir(), 'stillcount-safety-'));
process.env.STILLCOUNT_TEST_FOLDER = folder;
process.env.STILLCOUNT_TEST_SPOKEN ??= path.join(folder, 'spoken');
try {
  process.exitCode = stale.length === 0 && jobs.length > 0 && (await tryAll()) ? 0 : 1;
} finally {
  rmSync(folder, { recursive: true, force: true });
}

/** @returns whether every test passes on the unchanged code, and every fault was caught */
async function tryAll(): Promise<boolean> {
  const lanes = await Promise.all(
    Array.from({ length: Math.min(mostLanes, availableParallelism()) }, () => Lane.open(root)),
  );
  try {
    console.log(`${rules.length} rules, ${jobs.length} faults.`);
    if (!faultsOnly && !(await tryWithout(lanes))) return false;
    const done: Done[] = [];
    await runInLanes(lanes, jobs, async (lane, job) => {
      const fromMs = performance.now();
      const outcome = await lane.tryFault(job.fault, job.tests);
      done.push({ ...job, outcome, seconds: secondsSince(fromMs) });
      tell(done.at(-1));
    });
    const caught = done.filter(({ outcome }) => outcome.kind === 'caught');
    const others = done.filter(({ outcome }) => outcome.kind !== 'caught');
    if (others.length > 0) console.log('\nNot caught:');
    for (const each of others) tell(each);
    console.log(`\n${caught.length} of ${jobs.length} caught in ${secondsSince(startedMs)} s.`);
    return others.length === 0;
  } finally {
    await Promise.all(lanes.map((lane) => lane.close()));
  }
}

/** @returns whether the tests pass on the unchanged code */
async function tryWithout(lanes: readonly Lane[]): Promise<boolean> {
  const nearest = new Map(jobs.flatMap(({ tests }) => tests).map((test) => [JSON.stringify(test), test]));
  const unfit: string[] = [];
  await runInLanes(lanes, [...nearest.values()], async (lane, test) => {
    const outcome = await lane.tryNothing([test]);
    if (outcome.kind !== 'survived') unfit.push(`${nameOf(test)}: ${outcomeInWords(outcome)}`);
  });
  for (const each of unfit) console.log(`Fails without a fault: ${each}`);
  console.log(
    `Without a fault, ${nearest.size - unfit.length} of ${nearest.size} pass (${secondsSince(startedMs)} s).`,
  );
  return unfit.length === 0;
}

function tell(done: Done | undefined): void {
  if (done === undefined) return;
  const { rule, fault, outcome, seconds } = done;
  const place = `${fault.file}:${lineOf(root, fault)}`;
  console.log(`${rule.id}  ${place}  ${fault.what}\n    ${outcomeInWords(outcome)} (${seconds} s)`);
}

function outcomeInWords(outcome: Outcome): string {
  if (outcome.kind === 'caught') return `caught by ${outcome.file}: ${outcome.test}`;
  return outcome.kind === 'survived' ? 'SURVIVED' : `UNFAIR: ${outcome.why}`;
}

function nameOf({ file, name }: NearestTest): string {
  return name === undefined ? file : `${file} (${name})`;
}

function secondsSince(fromMs: number): number {
  return Math.round((performance.now() - fromMs) / 100) / 10;
}

async function runInLanes<Item>(
  lanes: readonly Lane[],
  items: readonly Item[],
  work: (lane: Lane, item: Item) => Promise<void>,
): Promise<void> {
  await runConcurrently(items, lanes.length, async (item, worker) => {
    const lane = lanes[worker];
    if (lane !== undefined) await work(lane, item);
  });
}
