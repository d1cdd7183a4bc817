import cliProgress from 'cli-progress';
import { isQuiet } from './verbosity.js';

export type Progress = { update(done: number, total: number): void; stop(): void };

/** How often progress is printed if no terminal shows a bar. */
const lineEveryMs = 10_000;
/** Clears the terminal's line from the cursor on (ECMA-48, section 8.3.41). */
const clearRest = '\u001b[K';

/**
 * A progress bar on the terminal's error output; if that is not a terminal, a line every ten seconds. With `--quiet`,
 * nothing.
 */
export function openProgress(label: string): Progress {
  if (isQuiet()) return { update: () => undefined, stop: () => undefined };
  return process.stderr.isTTY === true ? openBar(label) : openLines(label);
}

/**
 * Shows that something without a known end is in progress, and for how long: on a terminal in one line that disappears
 * at the end, elsewhere in a line every ten seconds. With `--quiet`, nothing.
 *
 * @param label describes the current step, as in "Restoring"
 * @param work receives a function to call when the label has changed to something worth a line at once
 */
export async function showActivity<Result>(
  label: () => string,
  work: (changed: () => void) => Promise<Result>,
): Promise<Result> {
  if (isQuiet()) return work(() => undefined);
  const isTerminal = process.stderr.isTTY === true;
  const startedAtMs = performance.now();
  const show = () => {
    const seconds = Math.round((performance.now() - startedAtMs) / 1000);
    process.stderr.write(
      isTerminal ? `\r${label()} ... ${seconds} s${clearRest}` : `${label()}: running for ${seconds} s\n`,
    );
  };
  const timer = setInterval(show, isTerminal ? 1_000 : lineEveryMs);
  try {
    return await work(show);
  } finally {
    clearInterval(timer);
    if (isTerminal) process.stderr.write(`\r${clearRest}`);
  }
}

function openLines(label: string): Progress {
  let dueAtMs = performance.now() + lineEveryMs;
  return {
    update(done, total) {
      if (performance.now() < dueAtMs) return;
      dueAtMs += lineEveryMs;
      process.stderr.write(`${label}: ${done} of ${total}\n`);
    },
    stop: () => undefined,
  };
}

function openBar(label: string): Progress {
  const bar = new cliProgress.SingleBar({
    format: `${label} {bar} {value} of {total}`,
    stream: process.stderr,
    clearOnComplete: true,
    hideCursor: true,
  });
  let started = false;
  // An interrupt exits the process; the bar hides the cursor while it runs.
  process.once('exit', () => {
    if (started) bar.stop();
  });
  return {
    update(done, total) {
      if (!started) bar.start(total, done);
      started = true;
      bar.setTotal(total);
      bar.update(done);
    },
    stop() {
      if (started) bar.stop();
    },
  };
}
