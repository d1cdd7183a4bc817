import cliProgress from 'cli-progress';
import { isQuiet } from './told.js';

export type Progress = { update(done: number, total: number): void; stop(): void };

/** How often work says how far it is, where no terminal shows a bar. */
const lineEveryMs = 10_000;

/**
 * A progress bar on the terminal's error output; where that is not a terminal, a line every ten seconds. Nothing for
 * whoever asked for results alone.
 */
export function openProgress(label: string): Progress {
  if (isQuiet()) return { update: () => undefined, stop: () => undefined };
  return process.stderr.isTTY === true ? openBar(label) : openLines(label);
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
  // An interrupt leaves through exit; the bar hides the cursor while it runs.
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
