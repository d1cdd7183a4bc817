/**
 * Imported by long-running scripts: prints a line to standard error every ten seconds, which shows that the script is
 * still running. The timer never keeps the script alive.
 */
const startedAt = performance.now();
const printElapsed = () =>
  process.stderr.write(`under way for ${Math.round((performance.now() - startedAt) / 1000)} s\n`);
setInterval(printElapsed, 10_000).unref();
