/**
 * Imported by scripts that take long: a line every ten seconds on the error output says that the script is still under
 * way. It ends with the script, which it never keeps alive.
 */
const startedAt = performance.now();
const sayIt = () =>
  process.stderr.write(`under way for ${Math.round((performance.now() - startedAt) / 1000)} s\n`);
setInterval(sayIt, 10_000).unref();
