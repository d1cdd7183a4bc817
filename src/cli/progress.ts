import cliProgress from 'cli-progress';

export type Progress = { update(done: number, total: number): void; stop(): void };

/** A progress bar on the terminal's error output; silent where that is not a terminal. */
export function openProgress(label: string): Progress {
  if (process.stderr.isTTY !== true) return { update: () => undefined, stop: () => undefined };
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
